-- Questions to the organiser, and requests after closing. Rows are evidence and
-- only ever inserted. Who asked is kept for the record and shown to nobody else.
CREATE TABLE questions (
    id BLOB PRIMARY KEY,
    participant_id BLOB NOT NULL REFERENCES participants (id),
    question TEXT NOT NULL,
    asked_at INTEGER NOT NULL,
    asked_by BLOB NOT NULL REFERENCES users (id)
) STRICT;
CREATE INDEX questions_by_participant ON questions (participant_id);

-- Without a text the question was closed without an answer.
CREATE TABLE answers (
    question_id BLOB PRIMARY KEY REFERENCES questions (id),
    answer TEXT,
    answered_at INTEGER NOT NULL,
    answered_by BLOB NOT NULL REFERENCES users (id)
) STRICT;

CREATE TABLE requests (
    id BLOB PRIMARY KEY,
    participant_id BLOB NOT NULL REFERENCES participants (id),
    kind TEXT NOT NULL,
    reason TEXT NOT NULL,
    made_at INTEGER NOT NULL,
    made_by BLOB NOT NULL REFERENCES users (id)
) STRICT;
CREATE INDEX requests_by_participant ON requests (participant_id);

CREATE TABLE rulings (
    request_id BLOB PRIMARY KEY REFERENCES requests (id),
    ruling TEXT NOT NULL,
    evidence TEXT NOT NULL,
    ruled_at INTEGER NOT NULL,
    ruled_by BLOB NOT NULL REFERENCES users (id)
) STRICT;
