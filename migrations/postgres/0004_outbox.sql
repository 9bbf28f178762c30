-- Messages by mail: written with what they tell of, sent after it. Rows stay;
-- next_try_at is also what a sender holds while it sends. The body has a mark
-- where an invitation's link stands: no token is kept.
CREATE TABLE outbox (
    id UUID PRIMARY KEY,
    kind TEXT NOT NULL,
    round_id UUID REFERENCES rounds (id),
    laboratory_id UUID REFERENCES laboratories (id),
    recipient TEXT NOT NULL,
    subject TEXT NOT NULL,
    body TEXT NOT NULL,
    queued_at BIGINT NOT NULL,
    next_try_at BIGINT NOT NULL,
    attempts BIGINT NOT NULL,
    last_error TEXT,
    sent_at BIGINT,
    given_up_at BIGINT
);
CREATE INDEX outbox_due ON outbox (next_try_at) WHERE sent_at IS NULL AND given_up_at IS NULL;
CREATE INDEX outbox_by_round ON outbox (round_id, id);
