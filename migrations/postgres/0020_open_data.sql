-- Whether a laboratory's results of a round may be kept and published for research
-- as open data; without a row they may not. The newest row of a participant counts.
CREATE TABLE open_data_consents (
    id UUID PRIMARY KEY,
    participant_id UUID NOT NULL REFERENCES participants (id),
    given BOOLEAN NOT NULL,
    said_at BIGINT NOT NULL,
    said_by UUID NOT NULL REFERENCES users (id)
);
CREATE INDEX open_data_consents_by_participant ON open_data_consents (participant_id, said_at);

-- Open data packages that were released. The seed makes the codes of the
-- laboratories in it, so that a package is the same each time it is made.
CREATE TABLE open_data_releases (
    id UUID PRIMARY KEY,
    round_id UUID NOT NULL REFERENCES rounds (id),
    evaluation_id UUID NOT NULL REFERENCES evaluations (id),
    licence TEXT NOT NULL,
    seed TEXT NOT NULL,
    released_at BIGINT NOT NULL,
    released_by UUID NOT NULL REFERENCES users (id)
);
CREATE INDEX open_data_releases_by_round ON open_data_releases (round_id, released_at);
