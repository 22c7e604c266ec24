-- One text for SQLite and PostgreSQL: ids are 36-character TEXT, instants BIGINT microseconds UTC, days ISO TEXT,
-- masses BIGINT milligrams, lengths BIGINT nanometres. Constraints are named so that a broken one can be told apart:
-- u_<table>__<column>__<column> for unique, ck_<table>__<what> for checks.

CREATE TABLE workroom (
    id        TEXT   NOT NULL PRIMARY KEY,
    name      TEXT   NOT NULL,
    time_zone TEXT   NOT NULL,
    units     TEXT   NOT NULL,
    revision  BIGINT NOT NULL DEFAULT 1,
    made_at   BIGINT NOT NULL,
    CONSTRAINT ck_workroom__only_one CHECK (id = 'workroom'),
    CONSTRAINT ck_workroom__units CHECK (units IN ('inches', 'metric'))
);

-- The one-time link that makes the first instructor; only its hash is kept.
CREATE TABLE setup_link (
    id         TEXT   NOT NULL PRIMARY KEY,
    token_hash TEXT   NOT NULL,
    made_at    BIGINT NOT NULL,
    CONSTRAINT ck_setup_link__only_one CHECK (id = 'setup')
);

CREATE TABLE person (
    id              TEXT   NOT NULL PRIMARY KEY,
    name            TEXT   NOT NULL,
    -- The name folded for signing in, so that "Ana " and "ana" are one person at the door.
    name_key        TEXT   NOT NULL,
    role            TEXT   NOT NULL,
    contact         TEXT   NOT NULL DEFAULT '',
    units           TEXT,
    passphrase_hash TEXT,
    left_at         BIGINT,
    revision        BIGINT NOT NULL DEFAULT 1,
    made_at         BIGINT NOT NULL,
    CONSTRAINT ck_person__role CHECK (role IN ('instructor', 'volunteer', 'weaver')),
    CONSTRAINT ck_person__units CHECK (units IS NULL OR units IN ('inches', 'metric')),
    CONSTRAINT ck_person__weavers_have_no_passphrase CHECK (role <> 'weaver' OR passphrase_hash IS NULL)
);
-- Two weavers may share a name; two people who type it at the door may not.
CREATE UNIQUE INDEX u_person__name_key ON person (name_key) WHERE role <> 'weaver';

-- A personal link: only the hash of its secret. Replacing it keeps the row, so that the record stays whole.
CREATE TABLE entry_link (
    token_hash  TEXT   NOT NULL PRIMARY KEY,
    person_id   TEXT   NOT NULL REFERENCES person (id),
    made_at     BIGINT NOT NULL,
    replaced_at BIGINT
);
CREATE UNIQUE INDEX u_entry_link__person_id ON entry_link (person_id) WHERE replaced_at IS NULL;

CREATE TABLE session (
    token_hash TEXT   NOT NULL PRIMARY KEY,
    person_id  TEXT   NOT NULL REFERENCES person (id),
    made_at    BIGINT NOT NULL,
    expires_at BIGINT NOT NULL
);
CREATE INDEX i_session__person_id ON session (person_id);

-- Failed sign-ins, by name and by address, so that every copy of the program counts together.
CREATE TABLE attempt (
    who        TEXT   NOT NULL PRIMARY KEY,
    failures   BIGINT NOT NULL,
    first_at   BIGINT NOT NULL,
    CONSTRAINT ck_attempt__failures CHECK (failures >= 0)
);

-- The record: who changed what, when. Nothing here is ever changed.
CREATE TABLE change (
    id        TEXT   NOT NULL PRIMARY KEY,
    at        BIGINT NOT NULL,
    person_id TEXT   REFERENCES person (id),
    noun      TEXT   NOT NULL,
    noun_id   TEXT   NOT NULL,
    act       TEXT   NOT NULL,
    detail    TEXT   NOT NULL
);
CREATE INDEX i_change__noun ON change (noun, noun_id, at);
CREATE INDEX i_change__at ON change (at);

-- A form's key, once it has been acted on, and where the first answer led: a second press changes nothing.
CREATE TABLE done_request (
    key       TEXT   NOT NULL PRIMARY KEY,
    person_id TEXT   REFERENCES person (id),
    at        BIGINT NOT NULL,
    outcome   TEXT   NOT NULL
);

-- Running numbers that people write on tape.
CREATE TABLE counter (
    name TEXT   NOT NULL PRIMARY KEY,
    last BIGINT NOT NULL
);
INSERT INTO counter (name, last) VALUES ('bundle', 0);
