-- Who was at a meeting. A meeting where nobody is noted had no roll taken.
CREATE TABLE attendance (
    meeting_id TEXT   NOT NULL REFERENCES meeting (id),
    person_id  TEXT   NOT NULL REFERENCES person (id),
    at         BIGINT NOT NULL,
    CONSTRAINT u_attendance__meeting_id__person_id PRIMARY KEY (meeting_id, person_id)
);
CREATE INDEX i_attendance__person_id ON attendance (person_id);
