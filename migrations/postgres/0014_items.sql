-- What is known of items. Rows are evidence and only ever inserted; of records
-- of one kind on one measurand the newest counts.
CREATE TABLE item_records (
    id UUID PRIMARY KEY,
    measurand_id UUID NOT NULL REFERENCES measurands (id),
    kind TEXT NOT NULL,
    document TEXT NOT NULL,
    recorded_at BIGINT NOT NULL,
    recorded_by UUID NOT NULL REFERENCES users (id)
);
CREATE INDEX item_records_by_measurand ON item_records (measurand_id, recorded_at);

-- What happened to the units of an item, in order.
CREATE TABLE unit_events (
    id UUID PRIMARY KEY,
    item_id UUID NOT NULL REFERENCES items (id),
    kind TEXT NOT NULL,
    number BIGINT NOT NULL,
    participant_id UUID REFERENCES participants (id),
    happened_on TEXT,
    detail TEXT NOT NULL,
    recorded_at BIGINT NOT NULL,
    recorded_by UUID NOT NULL REFERENCES users (id)
);
CREATE INDEX unit_events_by_item ON unit_events (item_id, recorded_at);

-- Items and measurands that were found unsuitable after dispatch: told to all at
-- once. Without a measurand the whole item is meant.
CREATE TABLE withdrawals (
    id UUID PRIMARY KEY,
    item_id UUID NOT NULL REFERENCES items (id),
    measurand_id UUID REFERENCES measurands (id),
    reason TEXT NOT NULL,
    withdrawn_at BIGINT NOT NULL,
    withdrawn_by UUID NOT NULL REFERENCES users (id)
);
CREATE INDEX withdrawals_by_item ON withdrawals (item_id);
