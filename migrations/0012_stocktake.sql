-- A stocktake: some of the shelf weighed anew, blind. Lines are kept as they come; the ledger changes when it is closed.
CREATE TABLE stocktake (
    id        TEXT   NOT NULL PRIMARY KEY,
    -- What is counted: one kind, one family of colours, or all that is ready.
    kind      TEXT,
    family    TEXT,
    begun_at  BIGINT NOT NULL,
    begun_by  TEXT   NOT NULL REFERENCES person (id),
    closed_at BIGINT,
    closed_by TEXT   REFERENCES person (id),
    CONSTRAINT ck_stocktake__closed CHECK ((closed_at IS NULL) = (closed_by IS NULL))
);

CREATE TABLE stocktake_line (
    stocktake_id TEXT   NOT NULL REFERENCES stocktake (id),
    bundle_id    TEXT   NOT NULL REFERENCES bundle (id),
    -- Cloth alone; nothing where the bundle wasn't found.
    net_mg       BIGINT,
    typed        TEXT   NOT NULL,
    tare_mg      BIGINT NOT NULL,
    -- What the ledger said at that moment: what was pulled since is no difference.
    balance_mg   BIGINT NOT NULL,
    at           BIGINT NOT NULL,
    person_id    TEXT   NOT NULL REFERENCES person (id),
    CONSTRAINT u_stocktake_line__stocktake_id__bundle_id PRIMARY KEY (stocktake_id, bundle_id),
    CONSTRAINT ck_stocktake_line__net CHECK (net_mg IS NULL OR net_mg >= 0)
);
