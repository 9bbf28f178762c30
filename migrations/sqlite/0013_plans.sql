-- What the plan of a round says in words, by heading.
ALTER TABLE rounds ADD COLUMN checklist TEXT NOT NULL DEFAULT '{}';

-- Frozen versions of a round's plan, amendments of an open round among them.
-- Evidence: rows of these tables are only ever inserted.
CREATE TABLE plans (
    id BLOB PRIMARY KEY,
    round_id BLOB NOT NULL REFERENCES rounds (id),
    version INTEGER NOT NULL,
    document TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    content_sha256 TEXT NOT NULL,
    made_at INTEGER NOT NULL,
    made_by BLOB NOT NULL REFERENCES users (id),
    UNIQUE (round_id, version)
) STRICT;

CREATE TABLE plan_signatures (
    plan_id BLOB NOT NULL REFERENCES plans (id),
    meaning TEXT NOT NULL CHECK (meaning IN ('author', 'second')),
    duty TEXT NOT NULL CHECK (duty IN ('organiser', 'statistician', 'reviewer')),
    signed_at INTEGER NOT NULL,
    signed_by BLOB NOT NULL REFERENCES users (id),
    PRIMARY KEY (plan_id, meaning),
    UNIQUE (plan_id, signed_by)
) STRICT;

-- Amendments that were taken back before a second person signed them.
CREATE TABLE plan_withdrawals (
    plan_id BLOB PRIMARY KEY REFERENCES plans (id),
    withdrawn_at INTEGER NOT NULL,
    withdrawn_by BLOB NOT NULL REFERENCES users (id)
) STRICT;

-- The assigned values as they stood when the round was opened: the text, whose
-- SHA-256 participants see from then on.
CREATE TABLE sealed_values (
    round_id BLOB PRIMARY KEY REFERENCES rounds (id),
    document TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    sealed_at INTEGER NOT NULL
) STRICT;
