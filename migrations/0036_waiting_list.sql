-- A term may take so many weavers; who comes later waits, in the order of `position`.
ALTER TABLE term ADD COLUMN most BIGINT;
CREATE TABLE waiting (
    term_id   TEXT   NOT NULL REFERENCES term (id),
    person_id TEXT   NOT NULL REFERENCES person (id),
    position  BIGINT NOT NULL,
    made_at   BIGINT NOT NULL,
    CONSTRAINT u_waiting__term_id__person_id PRIMARY KEY (term_id, person_id)
);
CREATE INDEX i_waiting__person_id ON waiting (person_id);
