-- Whether something can be written, asked by the page that says so: one row, written again and again.
CREATE TABLE sign_of_life (
    id BIGINT NOT NULL PRIMARY KEY,
    at BIGINT NOT NULL,
    CONSTRAINT ck_sign_of_life__id CHECK (id = 1)
);

-- A share-out whose program stopped is worked out by the next one, which has to know whether few changes were wanted.
ALTER TABLE share_out ADD COLUMN few BOOLEAN NOT NULL DEFAULT FALSE;

-- One person has one share-out worked out at a time. Of those that broke off only the last goes on.
UPDATE share_out SET state = 'dropped', stop = TRUE
 WHERE state = 'working'
   AND EXISTS (SELECT 1 FROM share_out later
                WHERE later.person_id = share_out.person_id AND later.state = 'working' AND later.id > share_out.id);
CREATE UNIQUE INDEX u_share_out__person_id ON share_out (person_id) WHERE state = 'working';
