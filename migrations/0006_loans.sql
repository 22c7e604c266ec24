CREATE TABLE loan (
    id             TEXT   NOT NULL PRIMARY KEY,
    frame_id       TEXT   NOT NULL REFERENCES frame (id),
    rug_id         TEXT   NOT NULL REFERENCES rug (id),
    rod_id         TEXT   REFERENCES rod (id),
    rods           BIGINT NOT NULL,
    due_on         TEXT   NOT NULL,
    condition_out  TEXT   NOT NULL,
    handed_out_at  BIGINT NOT NULL,
    handed_out_by  TEXT   NOT NULL REFERENCES person (id),
    taken_back_at  BIGINT,
    taken_back_by  TEXT   REFERENCES person (id),
    condition_back TEXT,
    rods_bent      BIGINT NOT NULL DEFAULT 0,
    rods_missing   BIGINT NOT NULL DEFAULT 0,
    note           TEXT   NOT NULL DEFAULT '',
    CONSTRAINT ck_loan__rods CHECK (
        rods >= 0 AND (rods = 0) = (rod_id IS NULL)
        AND rods_bent >= 0 AND rods_missing >= 0 AND rods_bent + rods_missing <= rods),
    CONSTRAINT ck_loan__back CHECK (
        (taken_back_at IS NULL) = (taken_back_by IS NULL) AND (taken_back_at IS NULL) = (condition_back IS NULL))
);
-- A frame is out to at most one weaver. This index says so; nothing else needs to.
CREATE UNIQUE INDEX u_loan__frame_id ON loan (frame_id) WHERE taken_back_at IS NULL;
CREATE INDEX i_loan__rug_id ON loan (rug_id);
-- A rug is woven on one frame: the piece stays on it until it is off.
CREATE UNIQUE INDEX u_loan__rug_id ON loan (rug_id) WHERE taken_back_at IS NULL;
