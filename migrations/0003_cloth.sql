CREATE TABLE bundle (
    id              TEXT   NOT NULL PRIMARY KEY,
    tag             BIGINT NOT NULL,
    kind            TEXT   NOT NULL,
    colour_name     TEXT   NOT NULL,
    colour_hex      TEXT   NOT NULL,
    colour_family   TEXT   NOT NULL,
    -- The other colour of a print or a stripe; cloth is shared out by the main one.
    second_name     TEXT,
    second_hex      TEXT,
    state           TEXT   NOT NULL,
    sheets          BIGINT,
    sheet_length_nm BIGINT,
    sheet_width_nm  BIGINT,
    note            TEXT   NOT NULL DEFAULT '',
    -- Where it came from in a word, such as "hotel"; never a donor's name.
    source          TEXT   NOT NULL DEFAULT '',
    -- A lot of strips says what it was cut from, and how wide they are.
    made_from       TEXT   REFERENCES bundle (id),
    strip_width_nm  BIGINT,
    -- Folded to small letters by the program, since SQLite's own lower() knows ASCII only: what anybody may find a
    -- bundle by, and the note, which may name people.
    words           TEXT   NOT NULL,
    note_words      TEXT   NOT NULL,
    -- The sum of the ledger's entries, kept here so that the shelf is one query and the database refuses a negative.
    balance_mg      BIGINT NOT NULL,
    entries         BIGINT NOT NULL,
    revision        BIGINT NOT NULL DEFAULT 1,
    made_at         BIGINT NOT NULL,
    CONSTRAINT ck_bundle__balance CHECK (balance_mg >= 0),
    CONSTRAINT ck_bundle__state CHECK (state IN ('arrived', 'washing', 'ready')),
    CONSTRAINT ck_bundle__strips CHECK (
        (made_from IS NULL AND strip_width_nm IS NULL)
        OR (made_from IS NOT NULL AND made_from <> id AND strip_width_nm IS NOT NULL AND strip_width_nm > 0)),
    CONSTRAINT ck_bundle__second CHECK ((second_name IS NULL) = (second_hex IS NULL)),
    CONSTRAINT ck_bundle__sheets CHECK (sheets IS NULL OR sheets > 0),
    CONSTRAINT ck_bundle__sheet_size CHECK (
        (sheet_length_nm IS NULL AND sheet_width_nm IS NULL)
        OR (sheets IS NOT NULL AND sheet_length_nm IS NOT NULL AND sheet_width_nm IS NOT NULL
            AND sheet_length_nm > 0 AND sheet_width_nm > 0))
);
CREATE UNIQUE INDEX u_bundle__tag ON bundle (tag);

-- The ledger. Each entry names the balance before and after, and hangs on the entry before it by a foreign key over that
-- balance: an entry can't be edited, dropped from the middle or slipped in without the database refusing.
CREATE TABLE cloth_entry (
    id          TEXT   NOT NULL PRIMARY KEY,
    bundle_id   TEXT   NOT NULL REFERENCES bundle (id),
    seq         BIGINT NOT NULL,
    prev_seq    BIGINT,
    before_mg   BIGINT NOT NULL,
    change_mg   BIGINT NOT NULL,
    after_mg    BIGINT NOT NULL,
    reason      TEXT   NOT NULL,
    -- What was read off the scale, as typed; and the basket, if one was on it.
    typed       TEXT   NOT NULL DEFAULT '',
    tare_mg     BIGINT NOT NULL DEFAULT 0,
    note        TEXT   NOT NULL DEFAULT '',
    at          BIGINT NOT NULL,
    person_id   TEXT   NOT NULL REFERENCES person (id),
    request_key TEXT   NOT NULL,
    reverses    TEXT   REFERENCES cloth_entry (id),
    -- What comes into a lot of strips names the entry by which it left its bundle.
    cut_entry   TEXT   REFERENCES cloth_entry (id),
    CONSTRAINT u_cloth_entry__bundle_id__seq UNIQUE (bundle_id, seq),
    CONSTRAINT u_cloth_entry__bundle_id__seq__after_mg UNIQUE (bundle_id, seq, after_mg),
    CONSTRAINT u_cloth_entry__request_key UNIQUE (request_key),
    CONSTRAINT u_cloth_entry__reverses UNIQUE (reverses),
    CONSTRAINT u_cloth_entry__cut_entry UNIQUE (cut_entry),
    CONSTRAINT fk_cloth_entry__chain FOREIGN KEY (bundle_id, prev_seq, before_mg)
        REFERENCES cloth_entry (bundle_id, seq, after_mg),
    CONSTRAINT ck_cloth_entry__chain CHECK (
        (seq = 1 AND prev_seq IS NULL AND before_mg = 0) OR (seq > 1 AND prev_seq IS NOT NULL AND prev_seq = seq - 1)),
    CONSTRAINT ck_cloth_entry__sum CHECK (after_mg = before_mg + change_mg AND after_mg >= 0 AND change_mg <> 0),
    CONSTRAINT ck_cloth_entry__reason CHECK (
        reason IN ('weighed in', 'reversal', 'wash', 'pulled', 'put back', 'cut', 'scrap', 'count')),
    CONSTRAINT ck_cloth_entry__cut CHECK ((reason = 'cut' AND change_mg > 0) = (cut_entry IS NOT NULL)),
    CONSTRAINT ck_cloth_entry__reversal CHECK ((reason = 'reversal') = (reverses IS NOT NULL))
);
CREATE INDEX i_cloth_entry__person_id__at ON cloth_entry (person_id, at);
