-- What programs may do in a person's name, and what they asked for. Requests
-- are evidence and only ever inserted, then answered.
CREATE TABLE api_tokens (
    id BLOB PRIMARY KEY,
    token_hash BLOB NOT NULL UNIQUE,
    user_id BLOB NOT NULL REFERENCES users (id),
    name TEXT NOT NULL,
    may_change INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    expires_at INTEGER NOT NULL,
    revoked_at INTEGER,
    last_used_at INTEGER
) STRICT;
CREATE INDEX api_tokens_by_user ON api_tokens (user_id, created_at);

CREATE TABLE api_requests (
    owner_id BLOB NOT NULL,
    idempotency_key TEXT NOT NULL,
    token_id BLOB NOT NULL REFERENCES api_tokens (id),
    target TEXT NOT NULL,
    body_sha256 TEXT NOT NULL,
    asked_at INTEGER NOT NULL,
    status INTEGER NOT NULL,
    location TEXT NOT NULL,
    answer TEXT NOT NULL,
    PRIMARY KEY (owner_id, idempotency_key)
) STRICT;
