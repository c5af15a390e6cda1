-- A trade in several parcels of which one is taken off the list is due again for what lay in that one.

-- How many pieces of an item of mine lay in live parcels at once, at most, as `order_lines.listed` of an order's lines:
-- what a later confirmation adds beyond that is asked about, and goes with nothing by itself.
CREATE TABLE trade_items (
    trade_id INTEGER NOT NULL REFERENCES trades (id),
    -- Its place among what I send.
    item     INTEGER NOT NULL CHECK (item >= 0),
    listed   INTEGER NOT NULL CHECK (listed >= 0),
    -- The seller called off what is in no parcel.
    off      INTEGER NOT NULL DEFAULT 0 CHECK (off IN (0, 1)),
    PRIMARY KEY (trade_id, item)
) STRICT;
-- Parts that were packed on one morning share the items between them; what was packed anew is the same again.
INSERT INTO trade_items (trade_id, item, listed)
SELECT trade_id, item, max(pieces) FROM (
    SELECT i.trade_id, i.item, sum(i.quantity) AS pieces FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id
    WHERE i.trade_id IS NOT NULL GROUP BY i.trade_id, i.item, p.manifest_id)
GROUP BY trade_id, item;

CREATE TRIGGER what_was_listed_of_a_trade_stays_known AFTER INSERT ON parcel_items WHEN NEW.trade_id IS NOT NULL
BEGIN
    INSERT INTO trade_items (trade_id, item, listed)
    SELECT NEW.trade_id, NEW.item, coalesce(sum(i.quantity), 0) FROM live_items i
    WHERE i.trade_id = NEW.trade_id AND i.item = NEW.item
    ON CONFLICT (trade_id, item) DO UPDATE SET listed = max(listed, excluded.listed);
END;

CREATE TRIGGER what_is_agreed_smaller_is_due_no_longer AFTER UPDATE OF doc ON trades
BEGIN
    UPDATE trade_items SET listed = min(listed, coalesce(json_extract(NEW.doc, '$.send[' || item || '].quantity'), 0))
    WHERE trade_id = NEW.id;
END;

-- What of a trade's items is due: all of a trade that lies in no live parcel; else what lay in one that was taken off.
CREATE VIEW trade_items_due AS
SELECT trade_id, item, goes - lies AS left FROM (
    SELECT t.id AS trade_id, s.key AS item,
        CASE
            WHEN k.off = 1 THEN 0
            WHEN NOT EXISTS (SELECT 1 FROM live_items i WHERE i.trade_id = t.id) THEN s.value ->> '$.quantity'
            ELSE min(s.value ->> '$.quantity', coalesce(k.listed, 0))
        END AS goes,
        (SELECT coalesce(sum(i.quantity), 0) FROM live_items i WHERE i.trade_id = t.id AND i.item = s.key) AS lies
    FROM trades t, json_each(t.doc, '$.send') s
    LEFT JOIN trade_items k ON k.trade_id = t.id AND k.item = s.key)
WHERE goes > lies;

-- `nothing_twice_by_a_parcel_brought_back` stands for all that this one did.
DROP TRIGGER IF EXISTS no_line_twice_by_taking_back;

-- Of a trade too, what lies in another parcel is twice only where both are more than was agreed.
DROP VIEW in_two_parcels;
CREATE VIEW in_two_parcels AS
SELECT i.parcel_id, i.source, i.number, i.trade_id, o.parcel_id AS other_id
FROM parcel_items i
JOIN parcels here ON here.id = i.parcel_id
JOIN parcel_items o ON o.parcel_id <> i.parcel_id AND (
    (o.source = i.source AND o.number = i.number AND o.line = i.line) OR (o.trade_id = i.trade_id AND o.item = i.item))
JOIN parcels p ON p.id = o.parcel_id
WHERE p.state <> 'cancelled' AND p.manifest_id <> here.manifest_id AND i.quantity + (
    SELECT coalesce(sum(a.quantity), 0) FROM live_items a
    WHERE a.parcel_id <> i.parcel_id AND (
        (a.source = i.source AND a.number = i.number AND a.line = i.line)
        OR (a.trade_id = i.trade_id AND a.item = i.item))
) > CASE WHEN i.line IS NOT NULL THEN (
    SELECT quantity FROM order_lines l WHERE l.source = i.source AND l.number = i.number AND l.line = i.line
) ELSE coalesce((
    SELECT json_extract(t.doc, '$.send[' || i.item || '].quantity') FROM trades t WHERE t.id = i.trade_id
), 0) END;
