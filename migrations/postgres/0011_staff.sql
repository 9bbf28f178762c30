-- The organiser's people: organiser, statistician, reviewer are roles of users.
-- An invitation makes an account of its address; its link is kept as a hash.
CREATE TABLE staff_invitations (
    token_hash BYTEA PRIMARY KEY,
    duty TEXT NOT NULL CHECK (duty IN ('organiser', 'statistician', 'reviewer')),
    email TEXT NOT NULL,
    invited_by UUID NOT NULL REFERENCES users (id),
    created_at BIGINT NOT NULL,
    expires_at BIGINT NOT NULL,
    used_at BIGINT
);
CREATE INDEX staff_invitations_by_email ON staff_invitations (email, created_at);
