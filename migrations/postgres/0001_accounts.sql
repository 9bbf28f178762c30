-- Who may use this installation.
CREATE TABLE installation (
    id BIGINT PRIMARY KEY CHECK (id = 1),
    provider TEXT NOT NULL,
    contact TEXT NOT NULL,
    accreditation TEXT NOT NULL,
    demonstration BOOLEAN NOT NULL,
    setup_hash BYTEA,
    setup_expires_at BIGINT
);

CREATE TABLE laboratories (
    id UUID PRIMARY KEY,
    name TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    email TEXT NOT NULL UNIQUE,
    organisation TEXT,
    created_at BIGINT NOT NULL
);

CREATE TABLE users (
    id UUID PRIMARY KEY,
    email TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    password_hash TEXT NOT NULL,
    role TEXT NOT NULL,
    laboratory_id UUID REFERENCES laboratories (id),
    created_at BIGINT NOT NULL,
    CHECK ((role = 'laboratory') = (laboratory_id IS NOT NULL))
);

CREATE TABLE sessions (
    token_hash BYTEA PRIMARY KEY,
    user_id UUID NOT NULL REFERENCES users (id),
    form_token TEXT NOT NULL,
    created_at BIGINT NOT NULL,
    expires_at BIGINT NOT NULL
);
CREATE INDEX sessions_by_expiry ON sessions (expires_at);

CREATE TABLE invitations (
    token_hash BYTEA PRIMARY KEY,
    laboratory_id UUID NOT NULL REFERENCES laboratories (id),
    created_at BIGINT NOT NULL,
    expires_at BIGINT NOT NULL,
    used_at BIGINT
);
CREATE INDEX invitations_by_laboratory ON invitations (laboratory_id, created_at);

CREATE TABLE audit (
    id UUID PRIMARY KEY,
    at BIGINT NOT NULL,
    actor_id UUID REFERENCES users (id),
    event TEXT NOT NULL,
    subject TEXT NOT NULL,
    detail TEXT NOT NULL
);
CREATE INDEX audit_by_subject ON audit (subject, at);
