-- A share-out: which rugs, what they need, and the cloth that was found for them. It works in the background, tells how
-- far it is, and promises nothing until somebody accepts it.
CREATE TABLE share_out (
    id        TEXT    NOT NULL PRIMARY KEY,
    made_at   BIGINT  NOT NULL,
    person_id TEXT    REFERENCES person (id),
    most      BIGINT  NOT NULL,
    seconds   BIGINT  NOT NULL,
    -- Cloth further off a wanted colour than this, by CIEDE2000, isn't taken for it.
    most_off  BIGINT  NOT NULL,
    state     TEXT    NOT NULL,
    stop      BOOLEAN NOT NULL,
    -- The part of its time that is spent, and cost and bound, each in thousandths.
    spent     BIGINT  NOT NULL DEFAULT 0,
    cost      BIGINT,
    bound     BIGINT,
    told_at   BIGINT  NOT NULL,
    CONSTRAINT ck_share_out__state CHECK (state IN ('working', 'proposed', 'accepted', 'dropped')),
    CONSTRAINT ck_share_out__most CHECK (most >= 1 AND seconds >= 1 AND most_off >= 1)
);
CREATE INDEX i_share_out__made_at ON share_out (made_at);

-- What the rugs of a share-out need, at the moment it began: the plan's "take" figure less what was pulled already.
CREATE TABLE share_out_need (
    share_out_id TEXT    NOT NULL REFERENCES share_out (id),
    rug_id       TEXT    NOT NULL REFERENCES rug (id),
    warp         BOOLEAN NOT NULL,
    -- Warp has no wanted colour: both are empty.
    colour_name  TEXT    NOT NULL,
    colour_hex   TEXT    NOT NULL,
    kind         TEXT    NOT NULL,
    wanted_mg    BIGINT  NOT NULL,
    CONSTRAINT u_share_out_need PRIMARY KEY (share_out_id, rug_id, warp, colour_name, colour_hex),
    CONSTRAINT ck_share_out_need__wanted CHECK (wanted_mg >= 0)
);

-- Cloth for a need: proposed until its share-out is accepted, then standing until it is pulled or released. Whether a
-- standing promise is broken is never stored: it follows from the bundle's balance and state.
CREATE TABLE promise (
    id           TEXT    NOT NULL PRIMARY KEY,
    share_out_id TEXT    NOT NULL REFERENCES share_out (id),
    rug_id       TEXT    NOT NULL REFERENCES rug (id),
    warp         BOOLEAN NOT NULL,
    colour_name  TEXT    NOT NULL,
    colour_hex   TEXT    NOT NULL,
    bundle_id    TEXT    NOT NULL REFERENCES bundle (id),
    promised_mg  BIGINT  NOT NULL,
    locked       BOOLEAN NOT NULL,
    state        TEXT    NOT NULL,
    -- The ledger's entries made for it, by their request keys: once the pull is undone there, the promise stands again.
    pull_key     TEXT,
    back_key     TEXT,
    CONSTRAINT ck_promise__grams CHECK (promised_mg > 0),
    CONSTRAINT ck_promise__state CHECK (state IN ('proposed', 'standing', 'released'))
);
CREATE INDEX i_promise__share_out_id ON promise (share_out_id);
CREATE INDEX i_promise__bundle_id ON promise (bundle_id);
CREATE INDEX i_promise__rug_id ON promise (rug_id);
