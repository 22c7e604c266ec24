-- Width of the warp's strips, where they are cut wider or narrower than the weft's.
ALTER TABLE rug ADD COLUMN warp_strip_nm BIGINT CONSTRAINT ck_rug__warp_strip CHECK (warp_strip_nm IS NULL OR warp_strip_nm > 0);
