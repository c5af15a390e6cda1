-- Everything that was taken in, planned, said and sent. Migrations are only ever added.

CREATE TABLE meta (
    key   TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT;

-- Files of the inbox, by the hash of their bytes.
CREATE TABLE drops (
    id       INTEGER PRIMARY KEY,
    hash     TEXT NOT NULL UNIQUE CHECK (length(hash) = 64),
    name     TEXT NOT NULL,
    kind     TEXT NOT NULL CHECK (kind IN ('sales', 'trade', 'handoff', 'questions', 'incoming', 'unreadable')),
    source   TEXT,
    taken_at TEXT NOT NULL,
    read     INTEGER NOT NULL CHECK (read = taken + refused + skipped),
    taken    INTEGER NOT NULL,
    refused  INTEGER NOT NULL,
    skipped  INTEGER NOT NULL
) STRICT;

-- Told in the first manifest after they were found.
CREATE TABLE refusals (
    id          INTEGER PRIMARY KEY,
    drop_id     INTEGER NOT NULL REFERENCES drops (id),
    line        INTEGER,
    doc         TEXT NOT NULL CHECK (json_valid(doc)),
    manifest_id INTEGER REFERENCES manifests (id),
    UNIQUE (drop_id, doc)
) STRICT;

CREATE TABLE orders (
    source   TEXT NOT NULL,
    number   TEXT NOT NULL,
    state    TEXT NOT NULL CHECK (state IN ('unpaid', 'open', 'refunded', 'cancelled')),
    -- Recipient, dates and sums as the source wrote them, without lines.
    doc      TEXT NOT NULL CHECK (json_valid(doc)),
    -- The manifest that told of its being called off.
    told_off INTEGER REFERENCES manifests (id),
    PRIMARY KEY (source, number)
) STRICT;

CREATE TABLE order_lines (
    source   TEXT NOT NULL,
    number   TEXT NOT NULL,
    line     TEXT NOT NULL,
    place    INTEGER NOT NULL,
    quantity INTEGER NOT NULL CHECK (quantity > 0),
    doc      TEXT NOT NULL CHECK (json_valid(doc)),
    PRIMARY KEY (source, number, line),
    FOREIGN KEY (source, number) REFERENCES orders (source, number)
) STRICT;

CREATE TABLE trades (
    id         INTEGER PRIMARY KEY,
    partner    TEXT NOT NULL,
    agreed     TEXT NOT NULL,
    state      TEXT NOT NULL DEFAULT 'open' CHECK (state IN ('open', 'cancelled')),
    doc        TEXT NOT NULL CHECK (json_valid(doc)),
    arrived_on TEXT,
    condition  TEXT,
    UNIQUE (partner, agreed)
) STRICT;

CREATE TABLE manifests (
    id          INTEGER PRIMARY KEY,
    date        TEXT NOT NULL,
    revision    INTEGER NOT NULL CHECK (revision > 0),
    recorded_at TEXT NOT NULL,
    plan        TEXT NOT NULL CHECK (json_valid(plan)),
    -- Set once its papers lie in the outbox and its email is queued.
    written_at  TEXT,
    UNIQUE (date, revision)
) STRICT;

CREATE TABLE parcels (
    id             INTEGER PRIMARY KEY,
    manifest_id    INTEGER NOT NULL REFERENCES manifests (id),
    ref            TEXT NOT NULL,
    listed_on      TEXT NOT NULL,
    name           TEXT NOT NULL,
    mailer         TEXT NOT NULL,
    state          TEXT NOT NULL CHECK (state IN
                       ('listed', 'handed-over', 'accepted', 'closed', 'cancelled', 'returned', 'lost')),
    handed_over_on TEXT,
    tracking       TEXT,
    postage_paid   TEXT,
    scale          TEXT,
    place          TEXT,
    note           TEXT,
    UNIQUE (listed_on, ref),
    CHECK (state IN ('listed', 'cancelled') OR handed_over_on IS NOT NULL)
) STRICT;

CREATE TABLE parcel_items (
    parcel_id INTEGER NOT NULL REFERENCES parcels (id),
    source    TEXT,
    number    TEXT,
    line      TEXT,
    trade_id  INTEGER REFERENCES trades (id),
    item      INTEGER,
    code      TEXT NOT NULL,
    quantity  INTEGER NOT NULL CHECK (quantity > 0),
    CHECK ((line IS NULL) <> (trade_id IS NULL)),
    CHECK ((trade_id IS NULL) = (item IS NULL)),
    FOREIGN KEY (source, number, line) REFERENCES order_lines (source, number, line),
    UNIQUE (parcel_id, source, number, line),
    UNIQUE (parcel_id, trade_id, item)
) STRICT;

CREATE INDEX parcel_items_by_line ON parcel_items (source, number, line);
CREATE INDEX parcel_items_by_trade ON parcel_items (trade_id);

-- The second promise's last wall: no line is ever on parcels for more than was ordered.
CREATE TRIGGER no_line_twice BEFORE INSERT ON parcel_items WHEN NEW.line IS NOT NULL
BEGIN
    SELECT RAISE(ABORT, 'a line would be sent twice')
    WHERE NEW.quantity + (
        SELECT coalesce(sum(i.quantity), 0) FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
        WHERE i.source = NEW.source AND i.number = NEW.number AND i.line = NEW.line AND p.state <> 'cancelled'
    ) > (
        SELECT quantity FROM order_lines
        WHERE source = NEW.source AND number = NEW.number AND line = NEW.line
    );
END;

CREATE TABLE invoices (
    invoice   INTEGER PRIMARY KEY,
    source    TEXT NOT NULL,
    number    TEXT NOT NULL,
    parcel_id INTEGER NOT NULL REFERENCES parcels (id),
    issued_on TEXT NOT NULL,
    UNIQUE (source, number),
    FOREIGN KEY (source, number) REFERENCES orders (source, number)
) STRICT;

CREATE TRIGGER invoices_run_without_gaps BEFORE INSERT ON invoices
BEGIN
    SELECT RAISE(ABORT, 'an invoice number would leave a gap')
    WHERE NEW.invoice <> 1 + (SELECT coalesce(max(invoice), 0) FROM invoices);
END;

CREATE TRIGGER invoices_never_change BEFORE UPDATE ON invoices
BEGIN
    SELECT RAISE(ABORT, 'an invoice never changes');
END;

CREATE TRIGGER invoices_are_never_taken_back BEFORE DELETE ON invoices
BEGIN
    SELECT RAISE(ABORT, 'an invoice is never taken back');
END;

CREATE TABLE questions (
    id          INTEGER PRIMARY KEY,
    kind        TEXT NOT NULL CHECK (kind IN
                    ('article', 'mass', 'address', 'same-recipient', 'customs', 'changed')),
    key         TEXT NOT NULL,
    doc         TEXT NOT NULL CHECK (json_valid(doc)),
    answer      TEXT,
    answered_at TEXT,
    UNIQUE (kind, key)
) STRICT;

CREATE TABLE holds (
    id      TEXT PRIMARY KEY,
    until   TEXT,
    note    TEXT,
    held_at TEXT NOT NULL
) STRICT;

-- The seller's own counts, as first seen in the home: pieces listed since are taken off.
CREATE TABLE counts (
    kind        TEXT NOT NULL CHECK (kind IN ('article', 'mailer')),
    code        TEXT NOT NULL,
    counted     INTEGER NOT NULL CHECK (counted >= 0),
    -- Parcels up to this one were listed before the count.
    last_parcel INTEGER NOT NULL,
    PRIMARY KEY (kind, code)
) STRICT;

CREATE TABLE mail (
    id          INTEGER PRIMARY KEY,
    message_id  TEXT NOT NULL UNIQUE,
    manifest_id INTEGER REFERENCES manifests (id),
    subject     TEXT NOT NULL,
    sender      TEXT NOT NULL,
    recipients  TEXT NOT NULL CHECK (json_valid(recipients)),
    message     BLOB NOT NULL,
    state       TEXT NOT NULL CHECK (state IN ('queued', 'sent')),
    queued_at   TEXT NOT NULL,
    attempts    INTEGER NOT NULL DEFAULT 0,
    next_try    TEXT,
    last_error  TEXT,
    sent_at     TEXT,
    CHECK ((state = 'sent') = (sent_at IS NOT NULL))
) STRICT;
