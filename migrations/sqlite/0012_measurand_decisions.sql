-- What people decided about a measurand as a whole, by topic. Rows are evidence
-- and only ever inserted; the newest of each topic counts.
CREATE TABLE measurand_decisions (
    id BLOB PRIMARY KEY,
    measurand_id BLOB NOT NULL REFERENCES measurands (id),
    topic TEXT NOT NULL,
    kind TEXT NOT NULL,
    number TEXT,
    reason TEXT NOT NULL,
    decided_at INTEGER NOT NULL,
    decided_by BLOB NOT NULL REFERENCES users (id)
) STRICT;
CREATE INDEX measurand_decisions_by_measurand ON measurand_decisions (measurand_id, decided_at);
