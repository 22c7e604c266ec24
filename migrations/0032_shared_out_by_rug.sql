-- A rug's page asks what its newest share-out found for it.
CREATE INDEX i_share_out_need__rug_id ON share_out_need (rug_id);
-- Strips are corrected with the bundle that they were cut from.
CREATE INDEX i_bundle__made_from ON bundle (made_from) WHERE made_from IS NOT NULL;
