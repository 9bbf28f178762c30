-- What was typed, what was sent, and what was made of it. Rows of drafts are
-- replaced; all others here are evidence and only ever inserted.
CREATE TABLE drafts (
    participant_id BLOB PRIMARY KEY REFERENCES participants (id),
    fields TEXT NOT NULL,
    saved_at INTEGER NOT NULL,
    saved_by BLOB NOT NULL REFERENCES users (id)
) STRICT;

CREATE TABLE submissions (
    id BLOB PRIMARY KEY,
    participant_id BLOB NOT NULL REFERENCES participants (id),
    version INTEGER NOT NULL,
    once TEXT NOT NULL,
    document TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    late INTEGER NOT NULL,
    submitted_at INTEGER NOT NULL,
    submitted_by BLOB NOT NULL REFERENCES users (id),
    UNIQUE (participant_id, version),
    UNIQUE (participant_id, once)
) STRICT;

CREATE TABLE decisions (
    id BLOB PRIMARY KEY,
    participant_id BLOB NOT NULL REFERENCES participants (id),
    measurand_id BLOB NOT NULL REFERENCES measurands (id),
    exclude INTEGER NOT NULL,
    reason TEXT NOT NULL,
    decided_at INTEGER NOT NULL,
    decided_by BLOB NOT NULL REFERENCES users (id)
) STRICT;
CREATE INDEX decisions_by_participant ON decisions (participant_id, measurand_id, decided_at);

CREATE TABLE evaluations (
    id BLOB PRIMARY KEY,
    round_id BLOB NOT NULL REFERENCES rounds (id),
    version INTEGER NOT NULL,
    package TEXT NOT NULL,
    package_sha256 TEXT NOT NULL,
    document TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    evaluated_at INTEGER NOT NULL,
    evaluated_by BLOB NOT NULL REFERENCES users (id),
    UNIQUE (round_id, version)
) STRICT;
