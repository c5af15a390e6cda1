-- A question is kept by its subject: `key` is that as JSON, and `doc` and the plans have it as `subject` instead of a
-- kind and a text. The texts are read by the Rust half of this migration, in `ledger/subjects.rs`.

-- An order number with a space was once cut there: what an order is said to be must be an order.
UPDATE orders SET same_as = NULL WHERE same_as IS NOT NULL AND NOT EXISTS (
    SELECT 1 FROM orders o WHERE o.source || ':' || o.number = orders.same_as);

-- A trade was held by whatever was typed for it, such as `t-7`, and looked for under `T-0007`. An order's id has a colon.
UPDATE OR IGNORE holds SET id = printf('T-%04d', CAST(substr(id, 3) AS INTEGER)) WHERE instr(id, ':') = 0;
DELETE FROM holds WHERE instr(id, ':') = 0 AND id <> printf('T-%04d', CAST(substr(id, 3) AS INTEGER));
UPDATE holds SET waits_for = printf('T-%04d', CAST(substr(waits_for, 3) AS INTEGER)) WHERE instr(waits_for, ':') = 0;

-- What of a parcel lies in another that is not cancelled, and would be sent twice if both went. Parts that were packed
-- on one morning share the trade's items between them.
CREATE VIEW in_two_parcels AS
SELECT i.parcel_id, i.source, i.number, i.trade_id, o.parcel_id AS other_id
FROM parcel_items i
JOIN parcels here ON here.id = i.parcel_id
JOIN parcel_items o ON o.parcel_id <> i.parcel_id AND (
    (o.source = i.source AND o.number = i.number AND o.line = i.line) OR (o.trade_id = i.trade_id AND o.item = i.item))
JOIN parcels p ON p.id = o.parcel_id
WHERE p.state <> 'cancelled' AND p.manifest_id <> here.manifest_id AND (i.trade_id IS NOT NULL OR i.quantity + (
    SELECT coalesce(sum(a.quantity), 0) FROM parcel_items a JOIN parcels b ON b.id = a.parcel_id
    WHERE a.source = i.source AND a.number = i.number AND a.line = i.line AND b.state <> 'cancelled'
        AND b.id <> i.parcel_id
) > (SELECT quantity FROM order_lines l WHERE l.source = i.source AND l.number = i.number AND l.line = i.line));

-- A cancelled parcel that did go is handed over after all; the last wall stands for that too.
CREATE TRIGGER no_line_twice_by_taking_back BEFORE UPDATE OF state ON parcels
WHEN OLD.state = 'cancelled' AND NEW.state <> 'cancelled'
BEGIN
    SELECT RAISE(ABORT, 'a line would be sent twice')
    WHERE EXISTS (SELECT 1 FROM in_two_parcels WHERE parcel_id = NEW.id);
END;
