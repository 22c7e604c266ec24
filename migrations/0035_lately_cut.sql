-- What was cut up lately, the latest first: what cutting up shows is summed over that, not over all years.
CREATE INDEX i_cloth_entry__cut ON cloth_entry (at, id) WHERE reason = 'cut' AND change_mg < 0;
