-- What a weaver says of a rug under way. Entries are never changed: a mistake is undone by a later entry that names it.
CREATE TABLE rug_log (
    id         TEXT   NOT NULL PRIMARY KEY,
    rug_id     TEXT   NOT NULL REFERENCES rug (id),
    at         BIGINT NOT NULL,
    person_id  TEXT   NOT NULL REFERENCES person (id),
    -- Rows and length woven so far; minutes since the entry before.
    rows_woven BIGINT,
    woven_nm   BIGINT,
    minutes    BIGINT,
    undoes     TEXT,
    CONSTRAINT u_rug_log__rug_id__id UNIQUE (rug_id, id),
    CONSTRAINT u_rug_log__undoes UNIQUE (undoes),
    CONSTRAINT fk_rug_log__undoes FOREIGN KEY (rug_id, undoes) REFERENCES rug_log (rug_id, id),
    CONSTRAINT ck_rug_log__figures CHECK (
        (rows_woven IS NULL OR rows_woven >= 0) AND (woven_nm IS NULL OR woven_nm >= 0)
        AND (minutes IS NULL OR minutes > 0)),
    CONSTRAINT ck_rug_log__undo CHECK (
        undoes IS NULL OR (rows_woven IS NULL AND woven_nm IS NULL AND minutes IS NULL))
);
CREATE INDEX i_rug_log__rug_id ON rug_log (rug_id, at);

-- What the rest of each colour weighed then.
CREATE TABLE rug_log_left (
    log_id      TEXT   NOT NULL REFERENCES rug_log (id),
    colour_name TEXT   NOT NULL,
    colour_hex  TEXT   NOT NULL,
    left_mg     BIGINT NOT NULL,
    CONSTRAINT u_rug_log_left__log_id__colour_hex__colour_name PRIMARY KEY (log_id, colour_hex, colour_name),
    CONSTRAINT ck_rug_log_left__left CHECK (left_mg >= 0)
);

-- What a finished rug took, as far as somebody said so. From these the class learns.
CREATE TABLE rug_result (
    rug_id          TEXT   NOT NULL PRIMARY KEY REFERENCES rug (id),
    at              BIGINT NOT NULL,
    person_id       TEXT   NOT NULL REFERENCES person (id),
    rows_woven      BIGINT,
    woven_nm        BIGINT,
    weft_mg         BIGINT,
    weave_minutes   BIGINT,
    prepare_minutes BIGINT,
    warp_nm         BIGINT,
    CONSTRAINT ck_rug_result__figures CHECK (
        (rows_woven IS NULL OR rows_woven > 0) AND (woven_nm IS NULL OR woven_nm > 0)
        AND (weft_mg IS NULL OR weft_mg > 0) AND (weave_minutes IS NULL OR weave_minutes > 0)
        AND (prepare_minutes IS NULL OR prepare_minutes > 0) AND (warp_nm IS NULL OR warp_nm > 0)),
    CONSTRAINT ck_rug_result__something CHECK (
        rows_woven IS NOT NULL OR woven_nm IS NOT NULL OR weft_mg IS NOT NULL OR weave_minutes IS NOT NULL
        OR prepare_minutes IS NOT NULL OR warp_nm IS NOT NULL)
);
CREATE INDEX i_rug_result__at ON rug_result (at);
