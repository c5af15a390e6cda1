//! How many, and what they cost.

use super::*;

#[test]
fn two_columns_for_one_field_wait_unless_they_are_equal() {
    let head = "Order number,Recipient,Addressee,Street,City,SKU,Qty";
    let toml = waits_for(
        &format!("{head}\n1,Ines Okonjo,Bo Lind,1 Quay,Fogport,A1,1\n"),
        "`Recipient` and `Addressee` could each be `name`",
    );
    assert!(toml.contains("# name = \"Recipient\"   # Ines Okonjo\n# name = \"Addressee\"   # Bo Lind\n"), "{toml}");
    reads(&format!("{head}\n1,Ines,Ines,1 Quay,Fogport,A1,1\n"));
    // One that is empty is none.
    let reading = reads(&format!("{head}\n1,,Ines,1 Quay,Fogport,A1,1\n"));
    assert_eq!(header(&reading, SalesField::Name), Some("Addressee"));
    let twice = "Order number,Recipient,Street,City,SKU,Qty,Qty\n1,Ines,1 Quay,Fogport,A1,1,2\n";
    let toml = waits_for(twice, "`Qty` (column F) and `Qty` (column G) could each be `quantity`");
    assert!(
        toml.contains("# quantity = \"Qty\"   # column F of several with this header; rename it   # 1\n"),
        "{toml}"
    );
}

#[test]
fn a_column_hidden_behind_another_of_its_name_waits() {
    // The reading would take the first `Name`, which holds the things.
    let text = "Order number,Name,Name,Street,City,Qty\n1,Bell buoy,Ines,1 Quay,Fogport,1\n1,Lightship,Ines,1 Quay,Fogport,1\n2,Lightship,Bo,2 Quay,Eastmere,1\n";
    waits_for(text, "`Name` (column C) is `name`, and a column before it has the same header");
}

#[test]
fn of_two_quantities_the_one_that_makes_the_total_is_read() {
    let head = "Order number,Recipient,Street,City,SKU,Pieces,Quantity,Unit price,Line total";
    let reading =
        reads(&format!("{head}\n1,Ines,1 Quay,Fogport,A1,5,2,4.50,9.00\n2,Bo,2 Quay,Fogport,A1,5,3,4.50,13.50\n"));
    assert_eq!(header(&reading, SalesField::Quantity), Some("Quantity"));
    waits_for(&format!("{head}\n1,Ines,1 Quay,Fogport,A1,5,2,4.50,10.00\n"), "`Pieces` and `Quantity` could each be");
}

#[test]
fn a_total_is_of_the_line_or_of_the_order_as_its_cells_say() {
    let total = |rows: &str| {
        let reading = reads(&format!("Order number,Recipient,Street,City,SKU,Qty,Price,Total,Postage\n{rows}"));
        (header(&reading, SalesField::LineTotal) == Some("Total"), header(&reading, SalesField::Total) == Some("Total"))
    };
    let line = "1,Ines,1 Quay,Fogport,A1,2,4.50,9.00,3.00\n1,Ines,1 Quay,Fogport,A2,1,5.00,5.00,3.00\n";
    assert_eq!(total(line), (true, false));
    let order = "1,Ines,1 Quay,Fogport,A1,2,4.50,17.00,3.00\n1,Ines,1 Quay,Fogport,A2,1,5.00,17.00,3.00\n";
    assert_eq!(total(order), (false, true));
    // Neither: not read, and said so.
    let odd = "1,Ines,1 Quay,Fogport,A1,2,4.50,8.00,3.00\n1,Ines,1 Quay,Fogport,A2,1,5.00,17.00,3.00\n";
    assert_eq!(total(odd), (false, false));
}

#[test]
fn a_price_is_of_the_piece_or_of_the_line_as_the_totals_say() {
    let head = "Order number,Recipient,Street,City,SKU,Qty,Price,Order total,Postage";
    let price = |rows: &str| {
        reads(&format!("{head}\n{rows}")).matched.unwrap().into_iter().find(|(_, h)| h == "Price").map(|(f, _)| f)
    };
    assert_eq!(price("1,Ines,1 Quay,Fogport,A1,2,4.50,12.00,3.00\n"), Some(SalesField::UnitPrice));
    assert_eq!(price("1,Ines,1 Quay,Fogport,A1,2,9.00,12.00,3.00\n"), Some(SalesField::LineTotal));
    assert_eq!(price("1,Ines,1 Quay,Fogport,A1,1,9.00,12.00,3.00\n"), Some(SalesField::UnitPrice));
}

#[test]
fn quantity_times_price_must_be_the_line() {
    let head = "Order number,Recipient,Street,City,SKU,Qty,Unit price,Line total";
    let toml = waits_for(
        &format!("{head}\n1,Ines,1 Quay,Fogport,A1,10,4.50,9.00\n"),
        "`Qty` times `Unit price` is not `Line total` on line 2",
    );
    assert!(toml.contains("# quantity = \"Qty\"   # 10"), "{toml}");
    // One row in three may have a slip.
    reads(&format!(
        "{head}\n1,I,1 Quay,Fogport,A1,2,4.50,9.00\n2,I,1 Quay,Fogport,A1,2,4.50,9.00\n3,I,1 Quay,Fogport,A1,2,4.50,9.50\n"
    ));
}

#[test]
fn without_a_quantity_each_row_is_one_only_where_prices_show_it() {
    let head = "Order number,Recipient,Street,City,Title,Unit price,Order total,Postage";
    let rows = "1,Ines,1 Quay,Fogport,Bell buoy,4.50,12.50,3.00\n1,Ines,1 Quay,Fogport,Lightship,5.00,12.50,3.00\n";
    let reading = reads(&format!("{head}\n{rows}"));
    assert_eq!(orders(&reading)[0].lines.iter().map(|line| line.quantity).sum::<u32>(), 2);
    assert!(
        reading.remarks[0].text.contains("; how many is told by the item's words or prices"),
        "{:?}",
        reading.remarks
    );
    waits_for(&format!("{head}\n{}", rows.replace("12.50", "17.00")), "no column is known to hold how many were sold");
    waits_for(&format!("{head}\n{}", rows.replace("Lightship", "2x Lightship")), "how many were sold");
    let items = |cells: &str| format!("Order number;Recipient;Street;City;Items\n1;Ines;1 Quay;Fogport;{cells}\n");
    waits_for(&items("Bell buoy"), "how many were sold");
    // Every cell says how many.
    let reading = reads(&items("\"2x Bell buoy; 3 × Lightship\""));
    assert_eq!(orders(&reading)[0].lines.iter().map(|line| line.quantity).collect::<Vec<_>>(), [2, 3]);
}

#[test]
fn cells_veto_a_header() {
    let head = "Order number,Recipient,Street,City,SKU,Qty";
    let toml = waits_for(
        &format!("{head}\n1,Ines,1 Quay,Fogport,A1,two\n"),
        "no column holds how many were sold: `Qty` is called so, and `two` is none",
    );
    assert!(toml.contains("# quantity = \"\"   # none found"), "{toml}");
    waits_for(&format!("{head}\n1,ines@example.net,1 Quay,Fogport,A1,2\n"), "`Recipient` is called so");
    waits_for(&format!("{head}\na@example.org,Ines,1 Quay,Fogport,A1,2\n"), "`Order number` is called so");
    // `Shipping` that names a service is no postage, and nothing is lost by not reading it.
    let reading = reads(&format!("{head},Shipping,Email\n1,Ines,1 Quay,Fogport,A1,2,by ferry,none given\n"));
    assert_eq!((header(&reading, SalesField::PostageCharged), header(&reading, SalesField::Email)), (None, None));
    assert!(
        reading.remarks[0].text.contains("`Shipping` is not read, for `by ferry` is not what it is called"),
        "{:?}",
        reading.remarks
    );
}

#[test]
fn amounts_are_read_in_the_style_of_their_columns() {
    let price = |cells: [&str; 3]| {
        let reading = reads(&with("Unit price", cells));
        orders(&reading)
            .iter()
            .flat_map(|order| &order.lines)
            .map(|line| line.unit_price.unwrap().plain())
            .collect::<Vec<_>>()
    };
    assert_eq!(price(["4,50", "1.234", "5"]), ["4.50", "1234.00", "5.00"]);
    assert_eq!(price(["4.50", "1,234", "5"]), ["4.50", "1234.00", "5.00"]);
    waits_for(&with("Unit price", ["4,50", "4.50", "5"]), "amounts are written in two ways");
    let toml = waits_for(&with("Unit price", ["1.250", "1.500", "5"]), "`1.250` could be thousands or a fraction");
    assert!(toml.contains("\n# decimal = \",\"   # or \".\"\n"), "{toml}");
    // A price with a currency in its header that the rows can't say is not read as the home's.
    let reading = reads(&with("Unit price (EUR)", ["4,50", "5", "5"]));
    assert_eq!(orders(&reading)[0].lines[0].unit_price, None);
    assert!(reading.remarks[0].text.contains("`Unit price (EUR)` is in EUR and not read"), "{:?}", reading.remarks);
    let euros = reads(&with("Unit price (EUR);Currency", ["4,50;EUR", "5;EUR", "5;EUR"]));
    assert_eq!(orders(&euros)[0].lines[0].unit_price.map(|price| price.currency.code()), Some("EUR"));
}
