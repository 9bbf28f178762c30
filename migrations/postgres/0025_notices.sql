-- What everybody is told of certificates and reports that do not stand any more: one
-- notice for what happened at one instant, with a number of its own, signed. All rows
-- are evidence and only ever inserted.
CREATE TABLE notices (
    sha256 TEXT PRIMARY KEY,
    number BIGINT NOT NULL UNIQUE,
    statement TEXT NOT NULL,
    key_id TEXT NOT NULL REFERENCES signing_keys (id),
    signature TEXT NOT NULL
);
