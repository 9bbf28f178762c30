-- What people write for the report of a round, by heading; the newest counts. A text
-- or the reason why there is none. The codes of laboratories that stand in it were
-- confirmed by who wrote it.
CREATE TABLE report_texts (
    id BLOB PRIMARY KEY,
    round_id BLOB NOT NULL REFERENCES rounds (id),
    heading TEXT NOT NULL,
    text TEXT NOT NULL,
    not_applicable TEXT NOT NULL,
    codes TEXT NOT NULL,
    made_at INTEGER NOT NULL,
    made_by BLOB NOT NULL REFERENCES users (id),
    CHECK ((text = '') <> (not_applicable = ''))
) STRICT;
CREATE INDEX report_texts_by_round ON report_texts (round_id, made_at);

-- Reports as they were issued: rows are only ever inserted. A round has one final
-- report; whatever comes after it replaces it or the one that did, and each is
-- replaced once.
CREATE TABLE reports (
    id BLOB PRIMARY KEY,
    round_id BLOB NOT NULL REFERENCES rounds (id),
    version INTEGER NOT NULL,
    publication_id BLOB REFERENCES publications (id),
    status TEXT NOT NULL CHECK (status IN ('preliminary', 'interim', 'final', 'corrected')),
    replaces_id BLOB UNIQUE REFERENCES reports (id),
    reason TEXT NOT NULL,
    document TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    issued_at INTEGER NOT NULL,
    issued_by BLOB NOT NULL REFERENCES users (id),
    UNIQUE (round_id, version),
    CHECK (status IN ('preliminary', 'interim') OR publication_id IS NOT NULL),
    CHECK ((status = 'corrected') = (replaces_id IS NOT NULL)),
    CHECK (status <> 'corrected' OR reason <> '')
) STRICT;
CREATE UNIQUE INDEX reports_one_final ON reports (round_id) WHERE status = 'final';
