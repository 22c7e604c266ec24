-- A rug that weavers may start from; notes on a rug (its weaver and staff read it) and on a person (instructors do).
ALTER TABLE rug ADD COLUMN pattern BOOLEAN NOT NULL DEFAULT FALSE;
ALTER TABLE rug ADD COLUMN note TEXT NOT NULL DEFAULT '';
ALTER TABLE person ADD COLUMN note TEXT NOT NULL DEFAULT '';
CREATE INDEX i_rug__pattern ON rug (id) WHERE pattern;
