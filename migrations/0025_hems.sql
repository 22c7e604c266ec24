-- The hems of a bundle's sheets, where they were measured: the narrower one and the one at the top. Sizes read off a label are those
-- before hemming.
ALTER TABLE bundle ADD COLUMN sheet_hem_nm BIGINT CONSTRAINT ck_bundle__sheet_hem
    CHECK (sheet_hem_nm IS NULL OR (sheet_hem_nm >= 0 AND sheet_length_nm IS NOT NULL));
ALTER TABLE bundle ADD COLUMN sheet_top_hem_nm BIGINT CONSTRAINT ck_bundle__sheet_top_hem
    CHECK (sheet_top_hem_nm IS NULL OR (sheet_top_hem_nm >= 0 AND sheet_hem_nm IS NOT NULL));
ALTER TABLE bundle ADD COLUMN sheet_size_labelled BOOLEAN NOT NULL DEFAULT FALSE;
