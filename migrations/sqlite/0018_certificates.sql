-- Certificates as they were signed. All rows are evidence and only ever inserted.
-- The code is a random name of 128 bits, which stands in the address on the paper.
CREATE TABLE certificates (
    id BLOB PRIMARY KEY,
    publication_id BLOB NOT NULL REFERENCES publications (id),
    participant_id BLOB NOT NULL REFERENCES participants (id),
    code TEXT NOT NULL UNIQUE,
    statement TEXT NOT NULL,
    sha256 TEXT NOT NULL UNIQUE,
    key_id TEXT NOT NULL REFERENCES signing_keys (id),
    signature TEXT NOT NULL,
    issued_at INTEGER NOT NULL,
    UNIQUE (participant_id, publication_id)
) STRICT;
CREATE INDEX certificates_by_publication ON certificates (publication_id);

CREATE TABLE certificate_withdrawals (
    certificate_id BLOB PRIMARY KEY REFERENCES certificates (id),
    reason TEXT NOT NULL,
    withdrawn_at INTEGER NOT NULL,
    withdrawn_by BLOB NOT NULL REFERENCES users (id)
) STRICT;

-- Whether a laboratory appears on its certificates by its code only; the newest of
-- a participant counts.
CREATE TABLE certificate_names (
    id BLOB PRIMARY KEY,
    participant_id BLOB NOT NULL REFERENCES participants (id),
    by_code INTEGER NOT NULL,
    set_at INTEGER NOT NULL,
    set_by BLOB NOT NULL REFERENCES users (id)
) STRICT;
CREATE INDEX certificate_names_by_participant ON certificate_names (participant_id, id);

-- Until when a key signs at the latest. Keys from before have no such end.
ALTER TABLE signing_keys ADD COLUMN ends_at INTEGER;
