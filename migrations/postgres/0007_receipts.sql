-- Keys that sign, and what they signed. A key stays when it is retired, so that
-- its signatures can be checked for good; the number keeps two copies of the
-- program from making the same key twice. Submissions from before have no
-- receipt of this kind.
CREATE TABLE signing_keys (
    id TEXT PRIMARY KEY,
    number BIGINT NOT NULL UNIQUE,
    public_key BYTEA NOT NULL,
    secret_key BYTEA NOT NULL,
    made_at BIGINT NOT NULL,
    retired_at BIGINT
);

ALTER TABLE submissions ADD COLUMN receipt TEXT;
ALTER TABLE submissions ADD COLUMN key_id TEXT REFERENCES signing_keys (id);
ALTER TABLE submissions ADD COLUMN signature TEXT;
