-- Where a bundle lies on the shelf, in few words; nothing where nobody said so.
ALTER TABLE bundle ADD COLUMN place TEXT NOT NULL DEFAULT '' CONSTRAINT ck_bundle__place CHECK (LENGTH(place) <= 24);
