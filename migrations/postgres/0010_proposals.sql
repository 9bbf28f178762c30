-- What a paste or a file would change in what a laboratory has typed, until
-- somebody takes it over or leaves it; the newest of each participant. Not
-- evidence: what is taken over stands in the draft.
CREATE TABLE proposals (
    id UUID PRIMARY KEY,
    participant_id UUID NOT NULL REFERENCES participants (id),
    kind TEXT NOT NULL CHECK (kind IN ('paste', 'file', 'refused')),
    item TEXT NOT NULL,
    name TEXT NOT NULL,
    fields TEXT NOT NULL,
    notes TEXT NOT NULL,
    content BYTEA NOT NULL,
    draft_version BIGINT NOT NULL,
    made_at BIGINT NOT NULL,
    made_by UUID NOT NULL REFERENCES users (id),
    taken_at BIGINT,
    changes TEXT,
    undone_at BIGINT
);
CREATE INDEX proposals_by_participant ON proposals (participant_id);
