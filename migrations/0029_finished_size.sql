-- Off the frame and washed a rug is shorter and narrower than it was woven. Either side may be all that is said of a rug, which the
-- table's own condition didn't allow, and a condition can't be changed everywhere: so the table is made anew.
CREATE TABLE rug_result_new (
    rug_id             TEXT   NOT NULL PRIMARY KEY REFERENCES rug (id),
    at                 BIGINT NOT NULL,
    person_id          TEXT   NOT NULL REFERENCES person (id),
    rows_woven         BIGINT,
    woven_nm           BIGINT,
    weft_mg            BIGINT,
    weave_minutes      BIGINT,
    prepare_minutes    BIGINT,
    warp_nm            BIGINT,
    finished_length_nm BIGINT,
    finished_width_nm  BIGINT,
    CONSTRAINT ck_rug_result__figures CHECK (
        (rows_woven IS NULL OR rows_woven > 0) AND (woven_nm IS NULL OR woven_nm > 0)
        AND (weft_mg IS NULL OR weft_mg > 0) AND (weave_minutes IS NULL OR weave_minutes > 0)
        AND (prepare_minutes IS NULL OR prepare_minutes > 0) AND (warp_nm IS NULL OR warp_nm > 0)
        AND (finished_length_nm IS NULL OR finished_length_nm > 0)
        AND (finished_width_nm IS NULL OR finished_width_nm > 0)),
    CONSTRAINT ck_rug_result__something CHECK (
        rows_woven IS NOT NULL OR woven_nm IS NOT NULL OR weft_mg IS NOT NULL OR weave_minutes IS NOT NULL
        OR prepare_minutes IS NOT NULL OR warp_nm IS NOT NULL OR finished_length_nm IS NOT NULL
        OR finished_width_nm IS NOT NULL)
);
INSERT INTO rug_result_new (rug_id, at, person_id, rows_woven, woven_nm, weft_mg, weave_minutes, prepare_minutes, warp_nm)
SELECT rug_id, at, person_id, rows_woven, woven_nm, weft_mg, weave_minutes, prepare_minutes, warp_nm FROM rug_result;
DROP TABLE rug_result;
ALTER TABLE rug_result_new RENAME TO rug_result;
CREATE INDEX i_rug_result__at ON rug_result (at);
