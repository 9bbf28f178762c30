-- What was typed, what was sent, and what was made of it. Rows of drafts are
-- replaced; all others here are evidence and only ever inserted.
CREATE TABLE drafts (
    participant_id UUID PRIMARY KEY REFERENCES participants (id),
    fields TEXT NOT NULL,
    saved_at BIGINT NOT NULL,
    saved_by UUID NOT NULL REFERENCES users (id)
);

CREATE TABLE submissions (
    id UUID PRIMARY KEY,
    participant_id UUID NOT NULL REFERENCES participants (id),
    version BIGINT NOT NULL,
    once TEXT NOT NULL,
    document TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    late BOOLEAN NOT NULL,
    submitted_at BIGINT NOT NULL,
    submitted_by UUID NOT NULL REFERENCES users (id),
    UNIQUE (participant_id, version),
    UNIQUE (participant_id, once)
);

CREATE TABLE decisions (
    id UUID PRIMARY KEY,
    participant_id UUID NOT NULL REFERENCES participants (id),
    measurand_id UUID NOT NULL REFERENCES measurands (id),
    exclude BOOLEAN NOT NULL,
    reason TEXT NOT NULL,
    decided_at BIGINT NOT NULL,
    decided_by UUID NOT NULL REFERENCES users (id)
);
CREATE INDEX decisions_by_participant ON decisions (participant_id, measurand_id, decided_at);

CREATE TABLE evaluations (
    id UUID PRIMARY KEY,
    round_id UUID NOT NULL REFERENCES rounds (id),
    version BIGINT NOT NULL,
    package TEXT NOT NULL,
    package_sha256 TEXT NOT NULL,
    document TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    evaluated_at BIGINT NOT NULL,
    evaluated_by UUID NOT NULL REFERENCES users (id),
    UNIQUE (round_id, version)
);
