-- Long work that the program does by itself, part by part. A copy of the program
-- holds a job until next_try_at; parts that are done are kept when it stops.
CREATE TABLE jobs (
    id BLOB PRIMARY KEY,
    kind TEXT NOT NULL CHECK (kind IN ('evaluation', 'certificates')),
    round_id BLOB NOT NULL REFERENCES rounds (id),
    state TEXT NOT NULL CHECK (state IN ('waiting', 'done', 'failed', 'cancelled')),
    parts INTEGER NOT NULL,
    next_try_at INTEGER NOT NULL,
    attempts INTEGER NOT NULL,
    problem TEXT,
    made_at INTEGER NOT NULL,
    made_by BLOB NOT NULL REFERENCES users (id),
    ended_at INTEGER
) STRICT;
CREATE INDEX jobs_due ON jobs (next_try_at) WHERE state = 'waiting';
CREATE INDEX jobs_by_round ON jobs (round_id, id);

CREATE TABLE job_parts (
    job_id BLOB NOT NULL REFERENCES jobs (id),
    part INTEGER NOT NULL,
    name TEXT NOT NULL,
    content BLOB NOT NULL,
    done_at INTEGER NOT NULL,
    PRIMARY KEY (job_id, part)
) STRICT;

-- How many laboratories a group of methods must have to be shown; the newest of
-- a round counts.
CREATE TABLE group_limits (
    id BLOB PRIMARY KEY,
    round_id BLOB NOT NULL REFERENCES rounds (id),
    smallest INTEGER NOT NULL,
    set_at INTEGER NOT NULL,
    set_by BLOB NOT NULL REFERENCES users (id)
) STRICT;
CREATE INDEX group_limits_by_round ON group_limits (round_id, id);
