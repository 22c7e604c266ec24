-- Notices: what somebody is to be told, written together with what brought it about; who is told; and how it went out.
CREATE TABLE notice (
    id        TEXT    NOT NULL PRIMARY KEY,
    -- The same happening is told once: its kind, the thing, and what would make it another happening.
    about     TEXT    NOT NULL,
    at        BIGINT  NOT NULL,
    -- What happened, as JSON.
    happening TEXT    NOT NULL,
    -- Whether its deliveries were made.
    shared    BOOLEAN NOT NULL DEFAULT FALSE,
    CONSTRAINT u_notice__about UNIQUE (about)
);
CREATE INDEX i_notice__at ON notice (at);
CREATE INDEX i_notice__shared ON notice (id) WHERE NOT shared;

CREATE TABLE notice_person (
    notice_id TEXT NOT NULL REFERENCES notice (id),
    person_id TEXT NOT NULL REFERENCES person (id),
    CONSTRAINT u_notice_person__notice_id__person_id PRIMARY KEY (notice_id, person_id)
);

-- A program that is told by a signed request: a bridge to mail, to chat, to a display.
CREATE TABLE receiver (
    id         TEXT    NOT NULL PRIMARY KEY,
    name       TEXT    NOT NULL,
    url        TEXT    NOT NULL,
    secret     TEXT    NOT NULL,
    -- Whether it is told how to reach the people concerned.
    contacts   BOOLEAN NOT NULL,
    paused     BOOLEAN NOT NULL DEFAULT FALSE,
    removed_at BIGINT,
    revision   BIGINT  NOT NULL DEFAULT 1,
    made_at    BIGINT  NOT NULL
);

-- One notice on its way to one receiver, or by mail to one person.
CREATE TABLE delivery (
    id          TEXT   NOT NULL PRIMARY KEY,
    notice_id   TEXT   NOT NULL REFERENCES notice (id),
    receiver_id TEXT   REFERENCES receiver (id),
    person_id   TEXT   REFERENCES person (id),
    state       TEXT   NOT NULL,
    attempts    BIGINT NOT NULL DEFAULT 0,
    -- When it is tried next; while it is being tried, when another may take it up.
    next_at     BIGINT NOT NULL,
    -- How the last attempt went, and when.
    answer      TEXT   NOT NULL DEFAULT '',
    tried_at    BIGINT,
    CONSTRAINT ck_delivery__to CHECK ((receiver_id IS NULL) <> (person_id IS NULL)),
    CONSTRAINT ck_delivery__state CHECK (state IN ('waiting', 'sent', 'given up', 'told')),
    CONSTRAINT ck_delivery__attempts CHECK (attempts >= 0)
);
CREATE UNIQUE INDEX u_delivery__notice_id__receiver_id ON delivery (notice_id, receiver_id) WHERE receiver_id IS NOT NULL;
CREATE UNIQUE INDEX u_delivery__notice_id__person_id ON delivery (notice_id, person_id) WHERE person_id IS NOT NULL;
CREATE INDEX i_delivery__next_at ON delivery (next_at) WHERE state = 'waiting';
