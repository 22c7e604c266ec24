-- What the database is at: another word after each change that a page may show, so that what was worked out from it can be
-- kept for as long as the word is the same. Several copies of the program see the same word.
CREATE TABLE database_revision (
    id   TEXT NOT NULL PRIMARY KEY,
    -- Empty until the first change: then nothing is kept.
    word TEXT NOT NULL,
    CONSTRAINT ck_database_revision__only_one CHECK (id = 'now')
);
INSERT INTO database_revision (id, word) VALUES ('now', '');
