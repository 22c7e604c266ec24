-- Who has which frame from which meeting to which. One timetable a term; a new one replaces the old as a whole, by whoever
-- saw the latest revision.
CREATE TABLE timetable (
    term_id   TEXT   NOT NULL PRIMARY KEY REFERENCES term (id),
    revision  BIGINT NOT NULL,
    made_at   BIGINT NOT NULL,
    person_id TEXT   REFERENCES person (id)
);

CREATE TABLE place (
    rug_id       TEXT    NOT NULL PRIMARY KEY REFERENCES rug (id),
    term_id      TEXT    NOT NULL REFERENCES timetable (term_id),
    frame_id     TEXT    NOT NULL REFERENCES frame (id),
    from_meeting TEXT    NOT NULL REFERENCES meeting (id),
    to_meeting   TEXT    NOT NULL REFERENCES meeting (id),
    -- Stays where it is when the timetable is worked out anew.
    locked       BOOLEAN NOT NULL,
    -- Whether the weaver knows.
    told         BOOLEAN NOT NULL
);
CREATE INDEX i_place__term_id ON place (term_id);
CREATE INDEX i_place__frame_id ON place (frame_id);
-- Two rugs don't begin on one frame at one meeting; that no two overlap is the program's to see to, and `check` asks.
CREATE UNIQUE INDEX u_place__frame_id__from_meeting ON place (frame_id, from_meeting);

-- What somebody wants for a rug's turn; a rug without a line is as urgent as any and may begin at once.
CREATE TABLE turn_wish (
    rug_id     TEXT   NOT NULL PRIMARY KEY REFERENCES rug (id),
    priority   BIGINT NOT NULL,
    not_before TEXT   REFERENCES meeting (id),
    CONSTRAINT ck_turn_wish__priority CHECK (priority >= 1)
);

-- A weaver who said that they won't come.
CREATE TABLE absence (
    meeting_id TEXT NOT NULL REFERENCES meeting (id),
    person_id  TEXT NOT NULL REFERENCES person (id),
    CONSTRAINT u_absence__meeting_id__person_id PRIMARY KEY (meeting_id, person_id)
);
