-- What the class pays for rods, liner, thread and yarn, as JSON; nothing until somebody says.
ALTER TABLE workroom ADD COLUMN prices TEXT;
