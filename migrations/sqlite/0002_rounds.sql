-- What a round asks, and of whom.
CREATE TABLE rounds (
    id BLOB PRIMARY KEY,
    code TEXT NOT NULL,
    code_key TEXT NOT NULL UNIQUE,
    title TEXT NOT NULL,
    scheme TEXT NOT NULL,
    instructions TEXT NOT NULL,
    time_zone TEXT NOT NULL,
    closes_at INTEGER NOT NULL,
    state TEXT NOT NULL,
    opened_at INTEGER,
    closed_at INTEGER,
    published_at INTEGER,
    published_evaluation BLOB,
    created_at INTEGER NOT NULL
) STRICT;

CREATE TABLE items (
    id BLOB PRIMARY KEY,
    round_id BLOB NOT NULL REFERENCES rounds (id),
    position INTEGER NOT NULL,
    label TEXT NOT NULL,
    matrix TEXT NOT NULL,
    UNIQUE (round_id, label)
) STRICT;

CREATE TABLE measurands (
    id BLOB PRIMARY KEY,
    round_id BLOB NOT NULL REFERENCES rounds (id),
    item_id BLOB NOT NULL REFERENCES items (id),
    position INTEGER NOT NULL,
    analyte TEXT NOT NULL,
    analyte_key TEXT NOT NULL,
    unit TEXT NOT NULL,
    expressed_as TEXT NOT NULL,
    decimals INTEGER NOT NULL,
    replicates INTEGER NOT NULL,
    required_loq TEXT,
    plan TEXT,
    UNIQUE (item_id, analyte_key)
) STRICT;
CREATE INDEX measurands_by_round ON measurands (round_id, position);

CREATE TABLE participants (
    id BLOB PRIMARY KEY,
    round_id BLOB NOT NULL REFERENCES rounds (id),
    laboratory_id BLOB NOT NULL REFERENCES laboratories (id),
    code TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    UNIQUE (round_id, laboratory_id),
    UNIQUE (round_id, code)
) STRICT;
CREATE INDEX participants_by_laboratory ON participants (laboratory_id);
