-- What the plan of a round says in words, by heading.
ALTER TABLE rounds ADD COLUMN checklist TEXT NOT NULL DEFAULT '{}';

-- Frozen versions of a round's plan, amendments of an open round among them.
-- Evidence: rows of these tables are only ever inserted.
CREATE TABLE plans (
    id UUID PRIMARY KEY,
    round_id UUID NOT NULL REFERENCES rounds (id),
    version BIGINT NOT NULL,
    document TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    content_sha256 TEXT NOT NULL,
    made_at BIGINT NOT NULL,
    made_by UUID NOT NULL REFERENCES users (id),
    UNIQUE (round_id, version)
);

CREATE TABLE plan_signatures (
    plan_id UUID NOT NULL REFERENCES plans (id),
    meaning TEXT NOT NULL CHECK (meaning IN ('author', 'second')),
    duty TEXT NOT NULL CHECK (duty IN ('organiser', 'statistician', 'reviewer')),
    signed_at BIGINT NOT NULL,
    signed_by UUID NOT NULL REFERENCES users (id),
    PRIMARY KEY (plan_id, meaning),
    UNIQUE (plan_id, signed_by)
);

-- Amendments that were taken back before a second person signed them.
CREATE TABLE plan_withdrawals (
    plan_id UUID PRIMARY KEY REFERENCES plans (id),
    withdrawn_at BIGINT NOT NULL,
    withdrawn_by UUID NOT NULL REFERENCES users (id)
);

-- The assigned values as they stood when the round was opened: the text, whose
-- SHA-256 participants see from then on.
CREATE TABLE sealed_values (
    round_id UUID PRIMARY KEY REFERENCES rounds (id),
    document TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    sealed_at BIGINT NOT NULL
);
