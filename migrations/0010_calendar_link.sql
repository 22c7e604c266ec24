-- A secret link to somebody's calendar feed: only the hash of its secret. Replacing it keeps the row, so that the record
-- stays whole.
CREATE TABLE calendar_link (
    token_hash  TEXT   NOT NULL PRIMARY KEY,
    person_id   TEXT   NOT NULL REFERENCES person (id),
    made_at     BIGINT NOT NULL,
    replaced_at BIGINT
);
CREATE UNIQUE INDEX u_calendar_link__person_id ON calendar_link (person_id) WHERE replaced_at IS NULL;
