-- Questions to the organiser, and requests after closing. Rows are evidence and
-- only ever inserted. Who asked is kept for the record and shown to nobody else.
CREATE TABLE questions (
    id UUID PRIMARY KEY,
    participant_id UUID NOT NULL REFERENCES participants (id),
    question TEXT NOT NULL,
    asked_at BIGINT NOT NULL,
    asked_by UUID NOT NULL REFERENCES users (id)
);
CREATE INDEX questions_by_participant ON questions (participant_id);

-- Without a text the question was closed without an answer.
CREATE TABLE answers (
    question_id UUID PRIMARY KEY REFERENCES questions (id),
    answer TEXT,
    answered_at BIGINT NOT NULL,
    answered_by UUID NOT NULL REFERENCES users (id)
);

CREATE TABLE requests (
    id UUID PRIMARY KEY,
    participant_id UUID NOT NULL REFERENCES participants (id),
    kind TEXT NOT NULL,
    reason TEXT NOT NULL,
    made_at BIGINT NOT NULL,
    made_by UUID NOT NULL REFERENCES users (id)
);
CREATE INDEX requests_by_participant ON requests (participant_id);

CREATE TABLE rulings (
    request_id UUID PRIMARY KEY REFERENCES requests (id),
    ruling TEXT NOT NULL,
    evidence TEXT NOT NULL,
    ruled_at BIGINT NOT NULL,
    ruled_by UUID NOT NULL REFERENCES users (id)
);
