CREATE TABLE term (
    id        TEXT   NOT NULL PRIMARY KEY,
    name      TEXT   NOT NULL,
    note      TEXT   NOT NULL DEFAULT '',
    closed_at BIGINT,
    revision  BIGINT NOT NULL DEFAULT 1,
    made_at   BIGINT NOT NULL
);

CREATE TABLE meeting (
    id         TEXT    NOT NULL PRIMARY KEY,
    term_id    TEXT    NOT NULL REFERENCES term (id),
    on_day     TEXT    NOT NULL,
    starts_at  TEXT    NOT NULL,
    minutes    BIGINT  NOT NULL,
    called_off BOOLEAN NOT NULL DEFAULT FALSE,
    revision   BIGINT  NOT NULL DEFAULT 1,
    changed_at BIGINT  NOT NULL,
    CONSTRAINT u_meeting__term_id__on_day__starts_at UNIQUE (term_id, on_day, starts_at),
    CONSTRAINT ck_meeting__minutes CHECK (minutes > 0)
);
CREATE INDEX i_meeting__on_day ON meeting (on_day);

CREATE TABLE enrolment (
    term_id   TEXT   NOT NULL REFERENCES term (id),
    person_id TEXT   NOT NULL REFERENCES person (id),
    made_at   BIGINT NOT NULL,
    CONSTRAINT u_enrolment__term_id__person_id PRIMARY KEY (term_id, person_id)
);
CREATE INDEX i_enrolment__person_id ON enrolment (person_id);
