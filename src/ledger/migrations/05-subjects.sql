-- A question is kept by its subject: `key` is that as JSON, and `doc` and the plans have it as `subject` instead of a
-- kind and a text. The texts are read by the Rust half of this migration, in `ledger/subjects.rs`.

-- An order number with a space was once cut there: what an order is said to be must be an order.
UPDATE orders SET same_as = NULL WHERE same_as IS NOT NULL AND NOT EXISTS (
    SELECT 1 FROM orders o WHERE o.source || ':' || o.number = orders.same_as);

-- A trade was held by whatever was typed for it, such as `t-7`, and looked for under `T-0007`. An order's id has a colon.
UPDATE OR IGNORE holds SET id = printf('T-%04d', CAST(substr(id, 3) AS INTEGER)) WHERE instr(id, ':') = 0;
DELETE FROM holds WHERE instr(id, ':') = 0 AND id <> printf('T-%04d', CAST(substr(id, 3) AS INTEGER));
UPDATE holds SET waits_for = printf('T-%04d', CAST(substr(waits_for, 3) AS INTEGER)) WHERE instr(waits_for, ':') = 0;
