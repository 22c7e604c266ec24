-- Sessions end by not being used: for how many microseconds one may lie idle (0: it doesn't move), how far that can carry it, when
-- it was last used, and what kind of device it is on.
ALTER TABLE session ADD COLUMN idle BIGINT NOT NULL DEFAULT 0 CONSTRAINT ck_session__idle CHECK (idle >= 0);
ALTER TABLE session ADD COLUMN latest_at BIGINT NOT NULL DEFAULT 0;
ALTER TABLE session ADD COLUMN seen_at BIGINT NOT NULL DEFAULT 0;
ALTER TABLE session ADD COLUMN device TEXT NOT NULL DEFAULT 'computer'
    CONSTRAINT ck_session__device CHECK (device IN ('phone', 'tablet', 'computer'));

-- Whether a passphrase was given by somebody else: then it opens nothing but the page where one chooses one's own.
ALTER TABLE person ADD COLUMN passphrase_given BOOLEAN NOT NULL DEFAULT FALSE;

-- A device on which somebody signed in before: strangers' failed tries don't hold it up.
CREATE TABLE known_device (
    token_hash TEXT   NOT NULL,
    person_id  TEXT   NOT NULL REFERENCES person (id),
    seen_at    BIGINT NOT NULL,
    CONSTRAINT u_known_device__token_hash__person_id PRIMARY KEY (token_hash, person_id)
);
CREATE INDEX i_known_device__person_id ON known_device (person_id);

-- Tries are counted one after the other, and those of another time are swept away.
CREATE INDEX i_attempt__first_at ON attempt (first_at);
INSERT INTO counter (name, last) VALUES ('try', 0);
