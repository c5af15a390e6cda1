-- Orders that change, come again under another name, or come again with another recipient; what reading a file
-- chose or mended. Foreign keys are off while this runs: `orders` and `questions` are made anew, as their checks
-- can't be widened in place.

CREATE TABLE orders_new (
    source   TEXT NOT NULL,
    number   TEXT NOT NULL,
    state    TEXT NOT NULL CHECK (state IN ('unpaid', 'open', 'part-refunded', 'sent', 'refunded', 'cancelled')),
    -- Recipient, dates and sums as the source wrote them, without lines.
    doc      TEXT NOT NULL CHECK (json_valid(doc)),
    -- The manifest that told of its being called off.
    told_off INTEGER REFERENCES manifests (id),
    -- The latest manifest when it first came: what changes before the next one is no news.
    after_manifest INTEGER NOT NULL DEFAULT 0,
    -- The order of another source that the seller says it is; then it is never sent for itself.
    same_as  TEXT,
    PRIMARY KEY (source, number)
) STRICT;
INSERT INTO orders_new (source, number, state, doc, told_off)
SELECT source, number, state, doc, told_off FROM orders;
DROP TABLE orders;
ALTER TABLE orders_new RENAME TO orders;
CREATE INDEX orders_by_number ON orders (number);

-- Whether the latest telling of its order still had it.
ALTER TABLE order_lines ADD COLUMN told INTEGER NOT NULL DEFAULT 1 CHECK (told IN (0, 1));

-- What a source told otherwise than before; told in the first manifest after.
CREATE TABLE order_changes (
    id          INTEGER PRIMARY KEY,
    source      TEXT NOT NULL,
    number      TEXT NOT NULL,
    what        TEXT NOT NULL,
    manifest_id INTEGER REFERENCES manifests (id),
    FOREIGN KEY (source, number) REFERENCES orders (source, number)
) STRICT;

-- A number that came again with another recipient: `mark` stands for who that is, `verdict` for what the seller says.
-- `same`: the order goes to them now; `old`: it did before; `another`: an order of its own, numbered `own_number`.
CREATE TABLE reused_numbers (
    source     TEXT NOT NULL,
    number     TEXT NOT NULL,
    mark       TEXT NOT NULL,
    doc        TEXT NOT NULL CHECK (json_valid(doc)),
    verdict    TEXT CHECK (verdict IN ('same', 'old', 'another')),
    own_number TEXT,
    PRIMARY KEY (source, number, mark),
    CHECK ((verdict IS 'another') = (own_number IS NOT NULL)),
    FOREIGN KEY (source, number) REFERENCES orders (source, number)
) STRICT;

-- What reading a file chose or mended; told in the first manifest after.
CREATE TABLE remarks (
    id          INTEGER PRIMARY KEY,
    drop_id     INTEGER NOT NULL REFERENCES drops (id),
    doc         TEXT NOT NULL CHECK (json_valid(doc)),
    manifest_id INTEGER REFERENCES manifests (id),
    UNIQUE (drop_id, doc)
) STRICT;

CREATE TABLE questions_new (
    id          INTEGER PRIMARY KEY,
    kind        TEXT NOT NULL CHECK (kind IN
                    ('article', 'mass', 'address', 'same-recipient', 'customs', 'changed', 'dates', 'reused-number',
                     'same-order', 'open-parcel', 'part')),
    key         TEXT NOT NULL,
    doc         TEXT NOT NULL CHECK (json_valid(doc)),
    answer      TEXT,
    answered_at TEXT,
    UNIQUE (kind, key)
) STRICT;
INSERT INTO questions_new SELECT id, kind, key, doc, answer, answered_at FROM questions;
DROP TABLE questions;
ALTER TABLE questions_new RENAME TO questions;

-- The order or trade that a held one waits for, to go with it.
ALTER TABLE holds ADD COLUMN waits_for TEXT;
