-- Long work that the program does by itself, part by part. A copy of the program
-- holds a job until next_try_at; parts that are done are kept when it stops.
CREATE TABLE jobs (
    id UUID PRIMARY KEY,
    kind TEXT NOT NULL CHECK (kind IN ('evaluation', 'certificates')),
    round_id UUID NOT NULL REFERENCES rounds (id),
    state TEXT NOT NULL CHECK (state IN ('waiting', 'done', 'failed', 'cancelled')),
    parts BIGINT NOT NULL,
    next_try_at BIGINT NOT NULL,
    attempts BIGINT NOT NULL,
    problem TEXT,
    made_at BIGINT NOT NULL,
    made_by UUID NOT NULL REFERENCES users (id),
    ended_at BIGINT
);
CREATE INDEX jobs_due ON jobs (next_try_at) WHERE state = 'waiting';
CREATE INDEX jobs_by_round ON jobs (round_id, id);

CREATE TABLE job_parts (
    job_id UUID NOT NULL REFERENCES jobs (id),
    part BIGINT NOT NULL,
    name TEXT NOT NULL,
    content BYTEA NOT NULL,
    done_at BIGINT NOT NULL,
    PRIMARY KEY (job_id, part)
);

-- How many laboratories a group of methods must have to be shown; the newest of
-- a round counts.
CREATE TABLE group_limits (
    id UUID PRIMARY KEY,
    round_id UUID NOT NULL REFERENCES rounds (id),
    smallest BIGINT NOT NULL,
    set_at BIGINT NOT NULL,
    set_by UUID NOT NULL REFERENCES users (id)
);
CREATE INDEX group_limits_by_round ON group_limits (round_id, id);
