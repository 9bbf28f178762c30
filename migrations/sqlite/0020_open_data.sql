-- Whether a laboratory's results of a round may be kept and published for research
-- as open data; without a row they may not. The newest row of a participant counts.
CREATE TABLE open_data_consents (
    id BLOB PRIMARY KEY,
    participant_id BLOB NOT NULL REFERENCES participants (id),
    given INTEGER NOT NULL,
    said_at INTEGER NOT NULL,
    said_by BLOB NOT NULL REFERENCES users (id)
) STRICT;
CREATE INDEX open_data_consents_by_participant ON open_data_consents (participant_id, said_at);

-- Open data packages that were released. The seed makes the codes of the
-- laboratories in it, so that a package is the same each time it is made.
CREATE TABLE open_data_releases (
    id BLOB PRIMARY KEY,
    round_id BLOB NOT NULL REFERENCES rounds (id),
    evaluation_id BLOB NOT NULL REFERENCES evaluations (id),
    licence TEXT NOT NULL,
    seed TEXT NOT NULL,
    released_at INTEGER NOT NULL,
    released_by BLOB NOT NULL REFERENCES users (id)
) STRICT;
CREATE INDEX open_data_releases_by_round ON open_data_releases (round_id, released_at);
