-- What people decided about a measurand as a whole, by topic. Rows are evidence
-- and only ever inserted; the newest of each topic counts.
CREATE TABLE measurand_decisions (
    id UUID PRIMARY KEY,
    measurand_id UUID NOT NULL REFERENCES measurands (id),
    topic TEXT NOT NULL,
    kind TEXT NOT NULL,
    number TEXT,
    reason TEXT NOT NULL,
    decided_at BIGINT NOT NULL,
    decided_by UUID NOT NULL REFERENCES users (id)
);
CREATE INDEX measurand_decisions_by_measurand ON measurand_decisions (measurand_id, decided_at);
