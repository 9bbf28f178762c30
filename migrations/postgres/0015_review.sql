-- What counted when a round was closed, by code: version and SHA-256 of each
-- sending. One a round, inserted once.
CREATE TABLE raw_sets (
    round_id UUID PRIMARY KEY REFERENCES rounds (id),
    document TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    made_at BIGINT NOT NULL
);

-- What people said of a finding. Rows are evidence and only ever inserted; the
-- newest of each finding counts.
CREATE TABLE finding_notes (
    id UUID PRIMARY KEY,
    round_id UUID NOT NULL REFERENCES rounds (id),
    finding TEXT NOT NULL,
    kept BOOLEAN NOT NULL,
    reason TEXT NOT NULL,
    noted_at BIGINT NOT NULL,
    noted_by UUID NOT NULL REFERENCES users (id)
);
CREATE INDEX finding_notes_by_round ON finding_notes (round_id, noted_at);

-- Who opened which review page first when.
CREATE TABLE page_views (
    measurand_id UUID NOT NULL REFERENCES measurands (id),
    user_id UUID NOT NULL REFERENCES users (id),
    seen_at BIGINT NOT NULL,
    PRIMARY KEY (measurand_id, user_id)
);

-- What a laboratory is asked to confirm, and what it answered. Analytes are one
-- line each. Rows are evidence and only ever inserted.
CREATE TABLE clarifications (
    id UUID PRIMARY KEY,
    participant_id UUID NOT NULL REFERENCES participants (id),
    item TEXT NOT NULL,
    analytes TEXT NOT NULL,
    asked_at BIGINT NOT NULL,
    asked_by UUID NOT NULL REFERENCES users (id)
);
CREATE INDEX clarifications_by_participant ON clarifications (participant_id);

CREATE TABLE clarification_answers (
    clarification_id UUID PRIMARY KEY REFERENCES clarifications (id),
    answer TEXT NOT NULL,
    answered_at BIGINT NOT NULL,
    answered_by UUID NOT NULL REFERENCES users (id)
);

-- Decisions have a class, a cause of a closed list, the findings that speak for
-- them (one key a line), what was decided together, and the effect as it was
-- shown before, as JSON.
ALTER TABLE decisions ADD COLUMN kind TEXT NOT NULL DEFAULT 'keep' CHECK (kind IN ('keep', 'blunder', 'invalid', 'withdrawn'));
ALTER TABLE decisions ADD COLUMN cause TEXT NOT NULL DEFAULT 'other';
ALTER TABLE decisions ADD COLUMN evidence TEXT NOT NULL DEFAULT '';
ALTER TABLE decisions ADD COLUMN batch UUID;
ALTER TABLE decisions ADD COLUMN effect TEXT NOT NULL DEFAULT '';
UPDATE decisions SET kind = 'blunder' WHERE exclude;
