-- What a temperature logger recorded of a unit, and photos of its condition: sent by
-- the organiser at dispatch or by the laboratory at receipt. Rows are only ever
-- inserted. The number is that of the unit at that time, where units are on record.
CREATE TABLE unit_files (
    id BLOB PRIMARY KEY,
    item_id BLOB NOT NULL REFERENCES items (id),
    participant_id BLOB NOT NULL REFERENCES participants (id),
    number INTEGER,
    from_laboratory INTEGER NOT NULL,
    form TEXT NOT NULL,
    content BLOB NOT NULL,
    size INTEGER NOT NULL,
    sha256 TEXT NOT NULL,
    recorded_at INTEGER NOT NULL,
    recorded_by BLOB NOT NULL REFERENCES users (id)
) STRICT;
CREATE INDEX unit_files_by_item ON unit_files (item_id, recorded_at);
