-- What a paste or a file would change in what a laboratory has typed, until
-- somebody takes it over or leaves it; the newest of each participant. Not
-- evidence: what is taken over stands in the draft.
CREATE TABLE proposals (
    id BLOB PRIMARY KEY,
    participant_id BLOB NOT NULL REFERENCES participants (id),
    kind TEXT NOT NULL CHECK (kind IN ('paste', 'file', 'refused')),
    item TEXT NOT NULL,
    name TEXT NOT NULL,
    fields TEXT NOT NULL,
    notes TEXT NOT NULL,
    content BLOB NOT NULL,
    draft_version INTEGER NOT NULL,
    made_at INTEGER NOT NULL,
    made_by BLOB NOT NULL REFERENCES users (id),
    taken_at INTEGER,
    changes TEXT,
    undone_at INTEGER
) STRICT;
CREATE INDEX proposals_by_participant ON proposals (participant_id);
