-- A tablet at the scale that volunteers share for an evening: a session of the device, of nobody's. It reaches the scale's pages
-- alone, and whoever weighs in there says who they are by tapping their name. The row goes when it ends.
CREATE TABLE tablet (
    id         TEXT   NOT NULL PRIMARY KEY,
    -- Only the hash of its secret.
    token_hash TEXT   NOT NULL,
    opened_by  TEXT   NOT NULL REFERENCES person (id),
    opened_at  BIGINT NOT NULL,
    ends_at    BIGINT NOT NULL,
    -- When it was last used, to a minute.
    used_at    BIGINT NOT NULL,
    CONSTRAINT u_tablet__token_hash UNIQUE (token_hash),
    CONSTRAINT ck_tablet__evening CHECK (ends_at > opened_at AND ends_at - opened_at <= 43200000000)
);
CREATE INDEX i_tablet__opened_by ON tablet (opened_by);
