-- What a corrected report changed of the one that it replaces, as JSON; none for
-- others, and for those issued before this was kept.
ALTER TABLE reports ADD COLUMN changed TEXT;

-- Who was told that a report took the place of the one that they had: a row for each
-- laboratory of the round, with how many messages were written to it.
CREATE TABLE report_notices (
    report_id UUID NOT NULL REFERENCES reports (id),
    participant_id UUID NOT NULL REFERENCES participants (id),
    messages BIGINT NOT NULL,
    PRIMARY KEY (report_id, participant_id)
);
CREATE INDEX report_notices_by_participant ON report_notices (participant_id);
