-- Who may use this installation.
CREATE TABLE installation (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    provider TEXT NOT NULL,
    contact TEXT NOT NULL,
    accreditation TEXT NOT NULL,
    demonstration INTEGER NOT NULL,
    setup_hash BLOB,
    setup_expires_at INTEGER
) STRICT;

CREATE TABLE laboratories (
    id BLOB PRIMARY KEY,
    name TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    email TEXT NOT NULL UNIQUE,
    organisation TEXT,
    created_at INTEGER NOT NULL
) STRICT;

CREATE TABLE users (
    id BLOB PRIMARY KEY,
    email TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    password_hash TEXT NOT NULL,
    role TEXT NOT NULL,
    laboratory_id BLOB REFERENCES laboratories (id),
    created_at INTEGER NOT NULL,
    CHECK ((role = 'laboratory') = (laboratory_id IS NOT NULL))
) STRICT;

CREATE TABLE sessions (
    token_hash BLOB PRIMARY KEY,
    user_id BLOB NOT NULL REFERENCES users (id),
    form_token TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    expires_at INTEGER NOT NULL
) STRICT;
CREATE INDEX sessions_by_expiry ON sessions (expires_at);

CREATE TABLE invitations (
    token_hash BLOB PRIMARY KEY,
    laboratory_id BLOB NOT NULL REFERENCES laboratories (id),
    created_at INTEGER NOT NULL,
    expires_at INTEGER NOT NULL,
    used_at INTEGER
) STRICT;
CREATE INDEX invitations_by_laboratory ON invitations (laboratory_id, created_at);

CREATE TABLE audit (
    id BLOB PRIMARY KEY,
    at INTEGER NOT NULL,
    actor_id BLOB REFERENCES users (id),
    event TEXT NOT NULL,
    subject TEXT NOT NULL,
    detail TEXT NOT NULL
) STRICT;
CREATE INDEX audit_by_subject ON audit (subject, at);
