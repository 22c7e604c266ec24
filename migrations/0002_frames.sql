CREATE TABLE frame (
    id        TEXT    NOT NULL PRIMARY KEY,
    tag       TEXT    NOT NULL,
    tag_key   TEXT    NOT NULL,
    span_nm   BIGINT  NOT NULL,
    width_nm  BIGINT  NOT NULL,
    nails     BIGINT  NOT NULL,
    -- NULL: never measured, the nails are taken as spread evenly over the width.
    pitch_nm  BIGINT,
    -- How the rows stand to each other, as JSON.
    nail_rows TEXT    NOT NULL,
    condition TEXT    NOT NULL,
    note      TEXT    NOT NULL DEFAULT '',
    retired   BOOLEAN NOT NULL DEFAULT FALSE,
    revision  BIGINT  NOT NULL DEFAULT 1,
    made_at   BIGINT  NOT NULL,
    CONSTRAINT ck_frame__sizes CHECK (span_nm > 0 AND width_nm > 0 AND nails >= 2 AND (pitch_nm IS NULL OR pitch_nm > 0)),
    CONSTRAINT ck_frame__condition CHECK (condition IN ('sound', 'worn', 'broken'))
);
CREATE UNIQUE INDEX u_frame__tag_key ON frame (tag_key);

-- Rods are counted, not tagged: in = owned - out_now - bent.
CREATE TABLE rod (
    id          TEXT   NOT NULL PRIMARY KEY,
    length_nm   BIGINT NOT NULL,
    diameter_nm BIGINT NOT NULL,
    owned       BIGINT NOT NULL,
    out_now     BIGINT NOT NULL DEFAULT 0,
    bent        BIGINT NOT NULL DEFAULT 0,
    revision    BIGINT NOT NULL DEFAULT 1,
    made_at     BIGINT NOT NULL,
    CONSTRAINT ck_rod__sizes CHECK (length_nm > 0 AND diameter_nm > 0),
    CONSTRAINT ck_rod__counts CHECK (owned >= 0 AND out_now >= 0 AND bent >= 0 AND out_now + bent <= owned)
);
CREATE UNIQUE INDEX u_rod__length_nm__diameter_nm ON rod (length_nm, diameter_nm);
