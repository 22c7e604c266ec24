-- Indexes for a workroom that runs for years: what is there now is found without passing by all that ever was.

-- The shelf, newest first, and its sums: used-up bundles are most of them by then.
CREATE INDEX i_bundle__on_shelf ON bundle (tag) WHERE balance_mg > 0;
CREATE INDEX i_bundle__sums ON bundle (kind, state, colour_family, balance_mg) WHERE balance_mg > 0;
-- Rugs still to be made, and their logs.
CREATE INDEX i_rug__open ON rug (state) WHERE state IN ('planned', 'weaving');
-- A frame's loans.
CREATE INDEX i_loan__frame_id ON loan (frame_id);
-- Who is here, and who left.
CREATE INDEX i_person__here ON person (role, name_key) WHERE left_at IS NULL;
CREATE INDEX i_person__left ON person (name_key) WHERE left_at IS NOT NULL;
CREATE INDEX i_term__runs ON term (id) WHERE closed_at IS NULL;
-- What the sums of Today count.
CREATE INDEX i_delivery__given_up ON delivery (person_id, receiver_id) WHERE state = 'given up';
