-- Postage bought, acceptance receipts and pictures of receipts; which file told of what. Foreign keys are off while
-- this runs: `drops` and `questions` are made anew, as their checks can't be widened in place.

CREATE TABLE drops_new (
    id       INTEGER PRIMARY KEY,
    hash     TEXT NOT NULL UNIQUE CHECK (length(hash) = 64),
    name     TEXT NOT NULL,
    kind     TEXT NOT NULL CHECK (kind IN
                 ('sales', 'trade', 'handoff', 'questions', 'incoming', 'postage', 'receipts', 'receipt-picture',
                  'unreadable')),
    source   TEXT,
    taken_at TEXT NOT NULL,
    read     INTEGER NOT NULL CHECK (read = taken + refused + skipped),
    taken    INTEGER NOT NULL,
    refused  INTEGER NOT NULL,
    skipped  INTEGER NOT NULL
) STRICT;
INSERT INTO drops_new SELECT id, hash, name, kind, source, taken_at, read, taken, refused, skipped FROM drops;
DROP TABLE drops;
ALTER TABLE drops_new RENAME TO drops;

CREATE TABLE questions_new (
    id          INTEGER PRIMARY KEY,
    kind        TEXT NOT NULL CHECK (kind IN
                    ('article', 'mass', 'address', 'same-recipient', 'customs', 'changed', 'dates', 'reused-number',
                     'same-order', 'open-parcel', 'part', 'receipt-picture')),
    key         TEXT NOT NULL,
    doc         TEXT NOT NULL CHECK (json_valid(doc)),
    answer      TEXT,
    answered_at TEXT,
    UNIQUE (kind, key)
) STRICT;
INSERT INTO questions_new SELECT id, kind, key, doc, answer, answered_at FROM questions;
DROP TABLE questions;
ALTER TABLE questions_new RENAME TO questions;

-- Why a hand-off is recorded that the seller didn't record; nothing where the seller did.
ALTER TABLE parcels ADD COLUMN handed_over_why TEXT;
-- Day of the first acceptance receipt, and day of settling.
ALTER TABLE parcels ADD COLUMN accepted_on TEXT;
ALTER TABLE parcels ADD COLUMN closed_on TEXT;

-- Which files told of an order or a trade.
CREATE TABLE tellings (
    drop_id  INTEGER NOT NULL REFERENCES drops (id),
    source   TEXT,
    number   TEXT,
    trade_id INTEGER REFERENCES trades (id),
    CHECK ((source IS NULL) = (number IS NULL)),
    CHECK ((number IS NULL) <> (trade_id IS NULL)),
    FOREIGN KEY (source, number) REFERENCES orders (source, number),
    UNIQUE (drop_id, source, number),
    UNIQUE (drop_id, trade_id)
) STRICT;
CREATE INDEX tellings_by_order ON tellings (source, number);
CREATE INDEX tellings_by_trade ON tellings (trade_id);

-- What filled-in hand-off sheets said of a parcel, row by row.
CREATE TABLE handoff_rows (
    drop_id   INTEGER NOT NULL REFERENCES drops (id),
    line      INTEGER NOT NULL,
    parcel_id INTEGER NOT NULL REFERENCES parcels (id),
    doc       TEXT NOT NULL CHECK (json_valid(doc)),
    PRIMARY KEY (drop_id, line)
) STRICT;
CREATE INDEX handoff_rows_by_parcel ON handoff_rows (parcel_id);

-- `key` tells a row from every other of its source, and is the same for the same row of an overlapping export.
CREATE TABLE postage_bought (
    id          INTEGER PRIMARY KEY,
    drop_id     INTEGER NOT NULL REFERENCES drops (id),
    line        INTEGER NOT NULL,
    source      TEXT NOT NULL,
    key         TEXT NOT NULL,
    doc         TEXT NOT NULL CHECK (json_valid(doc)),
    parcel_id   INTEGER REFERENCES parcels (id),
    tied_by     TEXT CHECK (tied_by IN ('tracking', 'parcel', 'likeness')),
    -- The manifest that told of its not being tied.
    told_untied INTEGER REFERENCES manifests (id),
    UNIQUE (source, key),
    CHECK ((parcel_id IS NULL) = (tied_by IS NULL))
) STRICT;
CREATE INDEX postage_bought_by_parcel ON postage_bought (parcel_id);

CREATE TABLE receipts (
    id          INTEGER PRIMARY KEY,
    drop_id     INTEGER NOT NULL REFERENCES drops (id),
    line        INTEGER NOT NULL,
    source      TEXT NOT NULL,
    key         TEXT NOT NULL,
    doc         TEXT NOT NULL CHECK (json_valid(doc)),
    parcel_id   INTEGER REFERENCES parcels (id),
    tied_by     TEXT CHECK (tied_by IN ('tracking', 'parcel', 'likeness')),
    told_untied INTEGER REFERENCES manifests (id),
    UNIQUE (source, key),
    CHECK ((parcel_id IS NULL) = (tied_by IS NULL))
) STRICT;
CREATE INDEX receipts_by_parcel ON receipts (parcel_id);

-- Pictures of receipts: of single parcels, or of all that were handed over on a day.
CREATE TABLE receipt_pictures (
    drop_id INTEGER PRIMARY KEY REFERENCES drops (id),
    doc     TEXT NOT NULL CHECK (json_valid(doc)),
    day     TEXT,
    -- The seller said that it is of no hand-off.
    is_none INTEGER NOT NULL DEFAULT 0 CHECK (is_none IN (0, 1)),
    CHECK (day IS NULL OR is_none = 0)
) STRICT;

CREATE TABLE picture_parcels (
    drop_id   INTEGER NOT NULL REFERENCES receipt_pictures (drop_id),
    parcel_id INTEGER NOT NULL REFERENCES parcels (id),
    PRIMARY KEY (drop_id, parcel_id)
) STRICT;
