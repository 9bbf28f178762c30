-- What a round asks, and of whom.
CREATE TABLE rounds (
    id UUID PRIMARY KEY,
    code TEXT NOT NULL,
    code_key TEXT NOT NULL UNIQUE,
    title TEXT NOT NULL,
    scheme TEXT NOT NULL,
    instructions TEXT NOT NULL,
    time_zone TEXT NOT NULL,
    closes_at BIGINT NOT NULL,
    state TEXT NOT NULL,
    opened_at BIGINT,
    closed_at BIGINT,
    published_at BIGINT,
    published_evaluation UUID,
    created_at BIGINT NOT NULL
);

CREATE TABLE items (
    id UUID PRIMARY KEY,
    round_id UUID NOT NULL REFERENCES rounds (id),
    position BIGINT NOT NULL,
    label TEXT NOT NULL,
    matrix TEXT NOT NULL,
    UNIQUE (round_id, label)
);

CREATE TABLE measurands (
    id UUID PRIMARY KEY,
    round_id UUID NOT NULL REFERENCES rounds (id),
    item_id UUID NOT NULL REFERENCES items (id),
    position BIGINT NOT NULL,
    analyte TEXT NOT NULL,
    analyte_key TEXT NOT NULL,
    unit TEXT NOT NULL,
    expressed_as TEXT NOT NULL,
    decimals BIGINT NOT NULL,
    replicates BIGINT NOT NULL,
    required_loq TEXT,
    plan TEXT,
    UNIQUE (item_id, analyte_key)
);
CREATE INDEX measurands_by_round ON measurands (round_id, position);

CREATE TABLE participants (
    id UUID PRIMARY KEY,
    round_id UUID NOT NULL REFERENCES rounds (id),
    laboratory_id UUID NOT NULL REFERENCES laboratories (id),
    code TEXT NOT NULL,
    created_at BIGINT NOT NULL,
    UNIQUE (round_id, laboratory_id),
    UNIQUE (round_id, code)
);
CREATE INDEX participants_by_laboratory ON participants (laboratory_id);
