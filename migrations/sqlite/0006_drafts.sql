-- A draft has versions, and each version keeps what it changed, by whom, as
-- {field: [before, after]}, and from which page it came: so that two people never overwrite each other unseen.
-- And what a round asks of its laboratories beside results.
ALTER TABLE drafts ADD COLUMN version INTEGER NOT NULL DEFAULT 0;

CREATE TABLE draft_changes (
    participant_id BLOB NOT NULL REFERENCES participants (id),
    version INTEGER NOT NULL,
    changes TEXT NOT NULL,
    form TEXT NOT NULL,
    saved_at INTEGER NOT NULL,
    saved_by BLOB NOT NULL REFERENCES users (id),
    PRIMARY KEY (participant_id, version)
) STRICT;

ALTER TABLE rounds ADD COLUMN asks TEXT NOT NULL DEFAULT '{}';

-- The code on the label of the unit that a participant gets of an item.
CREATE TABLE item_codes (
    participant_id BLOB NOT NULL REFERENCES participants (id),
    item_id BLOB NOT NULL REFERENCES items (id),
    round_id BLOB NOT NULL REFERENCES rounds (id),
    code TEXT NOT NULL,
    PRIMARY KEY (participant_id, item_id),
    UNIQUE (round_id, code)
) STRICT;
