-- When a person was erased: their name and all that tells who they were is gone, what they did still counts.
ALTER TABLE person ADD COLUMN erased_at BIGINT
    CONSTRAINT ck_person__erased CHECK (erased_at IS NULL OR left_at IS NOT NULL);
-- How to reach somebody is kept only as long as they are here.
UPDATE person SET contact = '' WHERE left_at IS NOT NULL;

-- Where cloth came from may be a donor: it is found by staff, as the note is, and no longer by everybody. Older words have no
-- place at their end, nor the blank before one.
UPDATE bundle SET
    note_words = note_words || ' ' || CASE
        WHEN place = '' THEN substr(rtrim(words), length(rtrim(words)) - length(source) + 1)
        ELSE substr(words, length(words) - length(place) - length(source) - 1, length(source)) END,
    words = CASE
        WHEN place = '' THEN substr(rtrim(words), 1, length(rtrim(words)) - length(source))
        ELSE substr(words, 1, length(words) - length(place) - length(source) - 2)
            || substr(words, length(words) - length(place)) END
WHERE source <> '';

-- What somebody's calendar was told last of each entry, so that an entry that changes can say so (RFC 5545, 3.8.7.2 and
-- 3.8.7.4): JSON, by the entry's identity.
CREATE TABLE calendar_told (
    person_id TEXT   NOT NULL PRIMARY KEY REFERENCES person (id),
    entries   TEXT   NOT NULL,
    revision  BIGINT NOT NULL
);
