-- An entry of a rug's log that the row counter writes, and goes on with while it is the last.
ALTER TABLE rug_log ADD COLUMN counted BOOLEAN NOT NULL DEFAULT FALSE CONSTRAINT ck_rug_log__counted CHECK (NOT counted OR rows_woven IS NOT NULL);
