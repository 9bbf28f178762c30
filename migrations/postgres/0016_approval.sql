-- Trials, review of evaluations, publications and what comes after. All rows are
-- evidence and only ever inserted.
CREATE TABLE trials (
    id UUID PRIMARY KEY,
    evaluation_id UUID NOT NULL REFERENCES evaluations (id),
    changes TEXT NOT NULL,
    outcome TEXT NOT NULL,
    tried_at BIGINT NOT NULL,
    tried_by UUID NOT NULL REFERENCES users (id)
);
CREATE INDEX trials_by_evaluation ON trials (evaluation_id);

-- Whether making an evaluation again gave the same text.
CREATE TABLE recomputations (
    id UUID PRIMARY KEY,
    evaluation_id UUID NOT NULL REFERENCES evaluations (id),
    engine TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    same BOOLEAN NOT NULL,
    differences TEXT NOT NULL,
    made_at BIGINT NOT NULL,
    made_by UUID NOT NULL REFERENCES users (id)
);
CREATE INDEX recomputations_by_evaluation ON recomputations (evaluation_id, made_at);

-- What a reviewer said of a measurand in an evaluation. The digest is over all
-- that was looked at: an approval holds while it stays the same.
CREATE TABLE reviews (
    id UUID PRIMARY KEY,
    evaluation_id UUID NOT NULL REFERENCES evaluations (id),
    measurand_id UUID NOT NULL REFERENCES measurands (id),
    verdict TEXT NOT NULL CHECK (verdict IN ('approved', 'returned')),
    digest TEXT NOT NULL,
    finding TEXT NOT NULL,
    made_at BIGINT NOT NULL,
    made_by UUID NOT NULL REFERENCES users (id)
);
CREATE INDEX reviews_by_measurand ON reviews (measurand_id, made_at);

CREATE TABLE review_answers (
    review_id UUID PRIMARY KEY REFERENCES reviews (id),
    answer TEXT NOT NULL,
    answered_at BIGINT NOT NULL,
    answered_by UUID NOT NULL REFERENCES users (id)
);

-- A published round is decided on again while a correction is open.
CREATE TABLE corrections (
    id UUID PRIMARY KEY,
    round_id UUID NOT NULL REFERENCES rounds (id),
    reason TEXT NOT NULL,
    opened_at BIGINT NOT NULL,
    opened_by UUID NOT NULL REFERENCES users (id)
);
CREATE INDEX corrections_by_round ON corrections (round_id, opened_at);

CREATE TABLE correction_ends (
    correction_id UUID PRIMARY KEY REFERENCES corrections (id),
    published BOOLEAN NOT NULL,
    ended_at BIGINT NOT NULL,
    ended_by UUID NOT NULL REFERENCES users (id)
);

CREATE TABLE publications (
    id UUID PRIMARY KEY,
    round_id UUID NOT NULL REFERENCES rounds (id),
    number BIGINT NOT NULL,
    evaluation_id UUID NOT NULL REFERENCES evaluations (id),
    meaning TEXT NOT NULL,
    reason TEXT NOT NULL,
    notified BIGINT NOT NULL,
    published_at BIGINT NOT NULL,
    published_by UUID NOT NULL REFERENCES users (id),
    UNIQUE (round_id, number)
);

-- Complaints and appeals. One without a participant is anonymous.
CREATE TABLE cases (
    id UUID PRIMARY KEY,
    round_id UUID NOT NULL REFERENCES rounds (id),
    number BIGINT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('complaint', 'appeal')),
    participant_id UUID REFERENCES participants (id),
    subject TEXT NOT NULL,
    statement TEXT NOT NULL,
    received_at BIGINT NOT NULL,
    received_by UUID NOT NULL REFERENCES users (id),
    UNIQUE (round_id, number)
);

CREATE TABLE case_steps (
    id UUID PRIMARY KEY,
    case_id UUID NOT NULL REFERENCES cases (id),
    step TEXT NOT NULL,
    outcome TEXT NOT NULL,
    statement TEXT NOT NULL,
    person_id UUID REFERENCES users (id),
    made_at BIGINT NOT NULL,
    made_by UUID NOT NULL REFERENCES users (id)
);
CREATE INDEX case_steps_by_case ON case_steps (case_id, made_at);
