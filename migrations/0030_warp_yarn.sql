-- Bought yarn or cord for the warp, where it is of that: a ball's length, weight and perhaps thickness, as JSON.
ALTER TABLE rug ADD COLUMN warp_yarn TEXT;
