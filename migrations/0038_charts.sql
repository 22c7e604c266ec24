-- The picture that a band is woven by, as JSON: its rows from the top, and how far it is moved.
ALTER TABLE rug_band ADD COLUMN chart TEXT;
