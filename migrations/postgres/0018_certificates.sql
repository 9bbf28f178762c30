-- Certificates as they were signed. All rows are evidence and only ever inserted.
-- The code is a random name of 128 bits, which stands in the address on the paper.
CREATE TABLE certificates (
    id UUID PRIMARY KEY,
    publication_id UUID NOT NULL REFERENCES publications (id),
    participant_id UUID NOT NULL REFERENCES participants (id),
    code TEXT NOT NULL UNIQUE,
    statement TEXT NOT NULL,
    sha256 TEXT NOT NULL UNIQUE,
    key_id TEXT NOT NULL REFERENCES signing_keys (id),
    signature TEXT NOT NULL,
    issued_at BIGINT NOT NULL,
    UNIQUE (participant_id, publication_id)
);
CREATE INDEX certificates_by_publication ON certificates (publication_id);

CREATE TABLE certificate_withdrawals (
    certificate_id UUID PRIMARY KEY REFERENCES certificates (id),
    reason TEXT NOT NULL,
    withdrawn_at BIGINT NOT NULL,
    withdrawn_by UUID NOT NULL REFERENCES users (id)
);

-- Whether a laboratory appears on its certificates by its code only; the newest of
-- a participant counts.
CREATE TABLE certificate_names (
    id UUID PRIMARY KEY,
    participant_id UUID NOT NULL REFERENCES participants (id),
    by_code BOOLEAN NOT NULL,
    set_at BIGINT NOT NULL,
    set_by UUID NOT NULL REFERENCES users (id)
);
CREATE INDEX certificate_names_by_participant ON certificate_names (participant_id, id);

-- Until when a key signs at the latest. Keys from before have no such end.
ALTER TABLE signing_keys ADD COLUMN ends_at BIGINT;
