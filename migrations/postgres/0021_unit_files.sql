-- What a temperature logger recorded of a unit, and photos of its condition: sent by
-- the organiser at dispatch or by the laboratory at receipt. Rows are only ever
-- inserted. The number is that of the unit at that time, where units are on record.
CREATE TABLE unit_files (
    id UUID PRIMARY KEY,
    item_id UUID NOT NULL REFERENCES items (id),
    participant_id UUID NOT NULL REFERENCES participants (id),
    number BIGINT,
    from_laboratory BOOLEAN NOT NULL,
    form TEXT NOT NULL,
    content BYTEA NOT NULL,
    size BIGINT NOT NULL,
    sha256 TEXT NOT NULL,
    recorded_at BIGINT NOT NULL,
    recorded_by UUID NOT NULL REFERENCES users (id)
);
CREATE INDEX unit_files_by_item ON unit_files (item_id, recorded_at);
