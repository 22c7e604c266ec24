-- What a rug had already, pulled and not brought back, when its share-out was worked out: a proposal that is accepted after more
-- was pulled would promise that a second time. Of proposals from before nothing is known.
ALTER TABLE share_out_need ADD COLUMN had_mg BIGINT;
