-- What programs may do in a person's name, and what they asked for. Requests
-- are evidence and only ever inserted, then answered.
CREATE TABLE api_tokens (
    id UUID PRIMARY KEY,
    token_hash BYTEA NOT NULL UNIQUE,
    user_id UUID NOT NULL REFERENCES users (id),
    name TEXT NOT NULL,
    may_change BOOLEAN NOT NULL,
    created_at BIGINT NOT NULL,
    expires_at BIGINT NOT NULL,
    revoked_at BIGINT,
    last_used_at BIGINT
);
CREATE INDEX api_tokens_by_user ON api_tokens (user_id, created_at);

CREATE TABLE api_requests (
    owner_id UUID NOT NULL,
    idempotency_key TEXT NOT NULL,
    token_id UUID NOT NULL REFERENCES api_tokens (id),
    target TEXT NOT NULL,
    body_sha256 TEXT NOT NULL,
    asked_at BIGINT NOT NULL,
    status BIGINT NOT NULL,
    location TEXT NOT NULL,
    answer TEXT NOT NULL,
    PRIMARY KEY (owner_id, idempotency_key)
);
