-- What the scale and the tape of the workroom may be off by at most: ½ oz and ¼ in until somebody says otherwise.
ALTER TABLE workroom ADD COLUMN scale_mg BIGINT NOT NULL DEFAULT 14175;
ALTER TABLE workroom ADD COLUMN tape_nm BIGINT NOT NULL DEFAULT 6350000;

-- The bundle that a rug's warp or weft is cut from, so that the cloth's mass per area is measured and not the kind's.
CREATE TABLE rug_cloth (
    rug_id    TEXT NOT NULL REFERENCES rug (id),
    part      TEXT NOT NULL,
    bundle_id TEXT NOT NULL REFERENCES bundle (id),
    CONSTRAINT u_rug_cloth__rug_id__part PRIMARY KEY (rug_id, part),
    CONSTRAINT ck_rug_cloth__part CHECK (part IN ('warp', 'weft'))
);
CREATE INDEX i_rug_cloth__bundle_id ON rug_cloth (bundle_id);
