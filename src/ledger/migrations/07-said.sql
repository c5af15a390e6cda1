-- What the seller said, by command or by sheet, so that the next email tells it.
CREATE TABLE said (
    id INTEGER PRIMARY KEY,
    doc TEXT NOT NULL CHECK (json_valid(doc)),
    manifest_id INTEGER REFERENCES manifests (id)
) STRICT;
CREATE INDEX said_untold ON said (id) WHERE manifest_id IS NULL;
