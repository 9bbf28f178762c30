-- Trials, review of evaluations, publications and what comes after. All rows are
-- evidence and only ever inserted.
CREATE TABLE trials (
    id BLOB PRIMARY KEY,
    evaluation_id BLOB NOT NULL REFERENCES evaluations (id),
    changes TEXT NOT NULL,
    outcome TEXT NOT NULL,
    tried_at INTEGER NOT NULL,
    tried_by BLOB NOT NULL REFERENCES users (id)
) STRICT;
CREATE INDEX trials_by_evaluation ON trials (evaluation_id);

-- Whether making an evaluation again gave the same text.
CREATE TABLE recomputations (
    id BLOB PRIMARY KEY,
    evaluation_id BLOB NOT NULL REFERENCES evaluations (id),
    engine TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    same INTEGER NOT NULL,
    differences TEXT NOT NULL,
    made_at INTEGER NOT NULL,
    made_by BLOB NOT NULL REFERENCES users (id)
) STRICT;
CREATE INDEX recomputations_by_evaluation ON recomputations (evaluation_id, made_at);

-- What a reviewer said of a measurand in an evaluation. The digest is over all
-- that was looked at: an approval holds while it stays the same.
CREATE TABLE reviews (
    id BLOB PRIMARY KEY,
    evaluation_id BLOB NOT NULL REFERENCES evaluations (id),
    measurand_id BLOB NOT NULL REFERENCES measurands (id),
    verdict TEXT NOT NULL CHECK (verdict IN ('approved', 'returned')),
    digest TEXT NOT NULL,
    finding TEXT NOT NULL,
    made_at INTEGER NOT NULL,
    made_by BLOB NOT NULL REFERENCES users (id)
) STRICT;
CREATE INDEX reviews_by_measurand ON reviews (measurand_id, made_at);

CREATE TABLE review_answers (
    review_id BLOB PRIMARY KEY REFERENCES reviews (id),
    answer TEXT NOT NULL,
    answered_at INTEGER NOT NULL,
    answered_by BLOB NOT NULL REFERENCES users (id)
) STRICT;

-- A published round is decided on again while a correction is open.
CREATE TABLE corrections (
    id BLOB PRIMARY KEY,
    round_id BLOB NOT NULL REFERENCES rounds (id),
    reason TEXT NOT NULL,
    opened_at INTEGER NOT NULL,
    opened_by BLOB NOT NULL REFERENCES users (id)
) STRICT;
CREATE INDEX corrections_by_round ON corrections (round_id, opened_at);

CREATE TABLE correction_ends (
    correction_id BLOB PRIMARY KEY REFERENCES corrections (id),
    published INTEGER NOT NULL,
    ended_at INTEGER NOT NULL,
    ended_by BLOB NOT NULL REFERENCES users (id)
) STRICT;

CREATE TABLE publications (
    id BLOB PRIMARY KEY,
    round_id BLOB NOT NULL REFERENCES rounds (id),
    number INTEGER NOT NULL,
    evaluation_id BLOB NOT NULL REFERENCES evaluations (id),
    meaning TEXT NOT NULL,
    reason TEXT NOT NULL,
    notified INTEGER NOT NULL,
    published_at INTEGER NOT NULL,
    published_by BLOB NOT NULL REFERENCES users (id),
    UNIQUE (round_id, number)
) STRICT;

-- Complaints and appeals. One without a participant is anonymous.
CREATE TABLE cases (
    id BLOB PRIMARY KEY,
    round_id BLOB NOT NULL REFERENCES rounds (id),
    number INTEGER NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('complaint', 'appeal')),
    participant_id BLOB REFERENCES participants (id),
    subject TEXT NOT NULL,
    statement TEXT NOT NULL,
    received_at INTEGER NOT NULL,
    received_by BLOB NOT NULL REFERENCES users (id),
    UNIQUE (round_id, number)
) STRICT;

CREATE TABLE case_steps (
    id BLOB PRIMARY KEY,
    case_id BLOB NOT NULL REFERENCES cases (id),
    step TEXT NOT NULL,
    outcome TEXT NOT NULL,
    statement TEXT NOT NULL,
    person_id BLOB REFERENCES users (id),
    made_at INTEGER NOT NULL,
    made_by BLOB NOT NULL REFERENCES users (id)
) STRICT;
CREATE INDEX case_steps_by_case ON case_steps (case_id, made_at);
