-- What counted when a round was closed, by code: version and SHA-256 of each
-- sending. One a round, inserted once.
CREATE TABLE raw_sets (
    round_id BLOB PRIMARY KEY REFERENCES rounds (id),
    document TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    made_at INTEGER NOT NULL
) STRICT;

-- What people said of a finding. Rows are evidence and only ever inserted; the
-- newest of each finding counts.
CREATE TABLE finding_notes (
    id BLOB PRIMARY KEY,
    round_id BLOB NOT NULL REFERENCES rounds (id),
    finding TEXT NOT NULL,
    kept INTEGER NOT NULL,
    reason TEXT NOT NULL,
    noted_at INTEGER NOT NULL,
    noted_by BLOB NOT NULL REFERENCES users (id)
) STRICT;
CREATE INDEX finding_notes_by_round ON finding_notes (round_id, noted_at);

-- Who opened which review page first when.
CREATE TABLE page_views (
    measurand_id BLOB NOT NULL REFERENCES measurands (id),
    user_id BLOB NOT NULL REFERENCES users (id),
    seen_at INTEGER NOT NULL,
    PRIMARY KEY (measurand_id, user_id)
) STRICT;

-- What a laboratory is asked to confirm, and what it answered. Analytes are one
-- line each. Rows are evidence and only ever inserted.
CREATE TABLE clarifications (
    id BLOB PRIMARY KEY,
    participant_id BLOB NOT NULL REFERENCES participants (id),
    item TEXT NOT NULL,
    analytes TEXT NOT NULL,
    asked_at INTEGER NOT NULL,
    asked_by BLOB NOT NULL REFERENCES users (id)
) STRICT;
CREATE INDEX clarifications_by_participant ON clarifications (participant_id);

CREATE TABLE clarification_answers (
    clarification_id BLOB PRIMARY KEY REFERENCES clarifications (id),
    answer TEXT NOT NULL,
    answered_at INTEGER NOT NULL,
    answered_by BLOB NOT NULL REFERENCES users (id)
) STRICT;

-- Decisions have a class, a cause of a closed list, the findings that speak for
-- them (one key a line), what was decided together, and the effect as it was
-- shown before, as JSON.
ALTER TABLE decisions ADD COLUMN kind TEXT NOT NULL DEFAULT 'keep' CHECK (kind IN ('keep', 'blunder', 'invalid', 'withdrawn'));
ALTER TABLE decisions ADD COLUMN cause TEXT NOT NULL DEFAULT 'other';
ALTER TABLE decisions ADD COLUMN evidence TEXT NOT NULL DEFAULT '';
ALTER TABLE decisions ADD COLUMN batch BLOB;
ALTER TABLE decisions ADD COLUMN effect TEXT NOT NULL DEFAULT '';
UPDATE decisions SET kind = 'blunder' WHERE exclude <> 0;
