CREATE TABLE rug (
    id               TEXT    NOT NULL PRIMARY KEY,
    weaver_id        TEXT    NOT NULL REFERENCES person (id),
    term_id          TEXT    REFERENCES term (id),
    name             TEXT    NOT NULL,
    -- The size of frame the rug is planned for; which frame it gets is a loan.
    span_nm          BIGINT  NOT NULL,
    width_nm         BIGINT  NOT NULL,
    nails            BIGINT  NOT NULL,
    pitch_nm         BIGINT,
    nail_rows        TEXT    NOT NULL,
    -- NULL: as wide as the frame.
    woven_width_nm   BIGINT,
    -- How the warp is wound over the nails, as JSON.
    winding          TEXT    NOT NULL,
    woven_from       TEXT    NOT NULL,
    strip_width_nm   BIGINT  NOT NULL,
    warp_kind        TEXT    NOT NULL,
    weft_kind        TEXT    NOT NULL,
    fringe_nm        BIGINT  NOT NULL,
    backing          BOOLEAN NOT NULL,
    strands_trade    BOOLEAN NOT NULL,
    unit_size        BIGINT  NOT NULL,
    rugs_before      BIGINT  NOT NULL,
    home_minutes     BIGINT  NOT NULL,
    -- A woven sample, where somebody measured one: rows and weight over a length.
    sample_length_nm BIGINT,
    sample_rows      BIGINT,
    sample_mass_mg   BIGINT,
    state            TEXT    NOT NULL,
    revision         BIGINT  NOT NULL DEFAULT 1,
    made_at          BIGINT  NOT NULL,
    CONSTRAINT ck_rug__sizes CHECK (span_nm > 0 AND width_nm > 0 AND nails >= 2 AND strip_width_nm > 0 AND fringe_nm >= 0),
    CONSTRAINT ck_rug__woven_width CHECK (woven_width_nm IS NULL OR woven_width_nm > 0),
    CONSTRAINT ck_rug__woven_from CHECK (woven_from IN ('one end', 'both ends', 'both ends, other strand first')),
    CONSTRAINT ck_rug__home CHECK (home_minutes >= 0 AND rugs_before >= 0 AND unit_size >= 1),
    CONSTRAINT ck_rug__sample CHECK (
        (sample_length_nm IS NULL) = (sample_rows IS NULL) AND (sample_length_nm IS NULL) = (sample_mass_mg IS NULL)),
    CONSTRAINT ck_rug__state CHECK (state IN ('planned', 'weaving', 'finished', 'given up'))
);
CREATE INDEX i_rug__weaver_id ON rug (weaver_id);
CREATE INDEX i_rug__term_id ON rug (term_id);

CREATE TABLE rug_band (
    rug_id     TEXT   NOT NULL REFERENCES rug (id),
    position   BIGINT NOT NULL,
    height_nm  BIGINT NOT NULL,
    first_name TEXT   NOT NULL,
    first_hex  TEXT   NOT NULL,
    other_name TEXT   NOT NULL,
    other_hex  TEXT   NOT NULL,
    -- NULL: of the rug's own strips.
    strip_nm   BIGINT,
    CONSTRAINT u_rug_band__rug_id__position PRIMARY KEY (rug_id, position),
    CONSTRAINT ck_rug_band__height CHECK (height_nm > 0 AND (strip_nm IS NULL OR strip_nm > 0))
);
