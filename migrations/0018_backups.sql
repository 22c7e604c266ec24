-- Backups made while the program runs, whoever asked for them. Of several copies of the program only one makes a backup at a
-- time: the index says so.
CREATE TABLE backup_run (
    id       TEXT   NOT NULL PRIMARY KEY,
    state    TEXT   NOT NULL,
    begun_at BIGINT NOT NULL,
    -- Until then it is taken for alive; a copy that was killed ends nothing.
    until_at BIGINT NOT NULL,
    ended_at BIGINT,
    -- Where it was written, and how large it is.
    file     TEXT   NOT NULL,
    bytes    BIGINT,
    -- Why there is none.
    failure  TEXT   NOT NULL DEFAULT '',
    CONSTRAINT ck_backup_run__state CHECK (state IN ('running', 'good', 'failed')),
    CONSTRAINT ck_backup_run__ended CHECK ((state = 'running') = (ended_at IS NULL))
);
CREATE UNIQUE INDEX u_backup_run__state ON backup_run (state) WHERE state = 'running';
CREATE INDEX i_backup_run__begun_at ON backup_run (begun_at);
