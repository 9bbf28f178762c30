-- What a person of a laboratory may do, and since when not any more. The row of
-- a person whose access ended stays: records name the person.
ALTER TABLE users ADD COLUMN rights TEXT CHECK (rights IN ('read', 'enter', 'submit'));
ALTER TABLE users ADD COLUMN ended_at BIGINT;
UPDATE users SET rights = 'submit' WHERE laboratory_id IS NOT NULL;
CREATE INDEX users_by_laboratory ON users (laboratory_id);

-- An invitation of the organiser has no address of its own: it goes to that of
-- the laboratory. One of a colleague makes the account of its address.
ALTER TABLE invitations ADD COLUMN rights TEXT NOT NULL DEFAULT 'submit' CHECK (rights IN ('read', 'enter', 'submit'));
ALTER TABLE invitations ADD COLUMN email TEXT;
ALTER TABLE invitations ADD COLUMN invited_by UUID REFERENCES users (id);

-- Whether results are sent by somebody who typed none of them.
ALTER TABLE laboratories ADD COLUMN second_person BOOLEAN NOT NULL DEFAULT FALSE;
