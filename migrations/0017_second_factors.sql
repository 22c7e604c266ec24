-- Second factors of instructors and volunteers, beside the passphrase: passkeys (Web Authentication), one-time codes of an
-- app (RFC 6238), and recovery codes for when both are lost.

CREATE TABLE passkey (
    id            TEXT   NOT NULL PRIMARY KEY,
    person_id     TEXT   NOT NULL REFERENCES person (id),
    -- What its owner calls it.
    name          TEXT   NOT NULL,
    -- The authenticator's own id for it, base64url.
    credential_id TEXT   NOT NULL,
    -- The public key and its counter, as JSON.
    credential    TEXT   NOT NULL,
    made_at       BIGINT NOT NULL,
    used_at       BIGINT,
    CONSTRAINT u_passkey__credential_id UNIQUE (credential_id)
);
CREATE INDEX i_passkey__person_id ON passkey (person_id);

-- The secret shared with somebody's app. A code is used once: `last_step` is the time step of the last one that was.
CREATE TABLE one_time_code (
    person_id    TEXT   NOT NULL PRIMARY KEY REFERENCES person (id),
    -- Base32.
    secret       TEXT   NOT NULL,
    -- When a first code showed that the app has the secret; until then it opens nothing.
    confirmed_at BIGINT,
    last_step    BIGINT NOT NULL DEFAULT 0,
    -- Wrong codes since the last sign-in that was completed.
    failures     BIGINT NOT NULL DEFAULT 0,
    made_at      BIGINT NOT NULL,
    CONSTRAINT ck_one_time_code__failures CHECK (failures >= 0)
);

-- Only hashes: the codes have 120 random bits.
CREATE TABLE recovery_code (
    code_hash TEXT   NOT NULL PRIMARY KEY,
    person_id TEXT   NOT NULL REFERENCES person (id),
    made_at   BIGINT NOT NULL,
    used_at   BIGINT
);
CREATE INDEX i_recovery_code__person_id ON recovery_code (person_id);

-- What was begun and waits for its end, for minutes: a sign-in whose passphrase was right and whose second step is to come,
-- a question put to an authenticator. Only the hash of its secret.
CREATE TABLE half_way (
    token_hash TEXT   NOT NULL PRIMARY KEY,
    kind       TEXT   NOT NULL,
    -- Whose it is; a sign-in by passkey alone doesn't know yet.
    person_id  TEXT   REFERENCES person (id),
    -- What is needed to go on.
    state      TEXT   NOT NULL,
    tries      BIGINT NOT NULL DEFAULT 0,
    expires_at BIGINT NOT NULL,
    CONSTRAINT ck_half_way__kind CHECK (kind IN ('second step', 'passkey asked', 'passkey made'))
);
CREATE INDEX i_half_way__person_id ON half_way (person_id);
CREATE INDEX i_half_way__expires_at ON half_way (expires_at);

-- A link made on the machine itself, by which somebody who can't get in any more sets a new passphrase, once.
CREATE TABLE let_in_link (
    token_hash     TEXT    NOT NULL PRIMARY KEY,
    person_id      TEXT    NOT NULL REFERENCES person (id),
    -- Whether it takes their second factors off, too.
    forget_factors BOOLEAN NOT NULL,
    made_at        BIGINT  NOT NULL,
    expires_at     BIGINT  NOT NULL,
    CONSTRAINT u_let_in_link__person_id UNIQUE (person_id)
);

-- Whether instructors and volunteers must have a second factor.
ALTER TABLE workroom ADD COLUMN second_factor_required BOOLEAN NOT NULL DEFAULT FALSE;
