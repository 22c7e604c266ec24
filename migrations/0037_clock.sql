-- Whether times of day are written as 6:30 pm rather than 18:30.
ALTER TABLE workroom ADD COLUMN twelve_hours BOOLEAN NOT NULL DEFAULT FALSE;
