//! What waits, and the column map that it brings.

use super::*;

#[test]
fn what_is_no_order_gets_no_proposal_or_one_of_its_kind() {
    let waiting = waits("x,y\n1,2\n");
    assert_eq!(
        (waiting.why.as_str(), waiting.proposal),
        ("no column map fits its headers (x, y); add a columns/NAME.toml that names them", None)
    );
    assert_eq!(waits("Name,Email\nInes,ines@example.net\n").proposal, None);
    let postage = waits("Tracking number,Service,Weight (oz),Price,Postal code\nNP1,small,3,5.25,97099\n");
    assert!(postage.why.contains("looks like postage bought or receipts"), "{}", postage.why);
    let map = parsed(&postage.proposal.unwrap());
    assert_eq!((map["kind"].as_str(), map["columns"]["mass"].as_str()), (Some("postage"), Some("Weight (oz)")));
    let receipts = waits("Accepted on,Tracking number,Order number\n2026-11-25,NP1,1001\n");
    assert_eq!(parsed(&receipts.proposal.unwrap())["kind"].as_str(), Some("receipts"));
}

#[test]
fn a_map_of_receipts_is_proposed_with_the_style_of_its_cells() {
    let text = "Tracking number;Accepted at;Weight;Postage\nL1;24.11.2026 16:05;113;5,25\nL2;25.11.2026;210;1.205,00\n";
    let proposal = waits(text).proposal.unwrap();
    let map = parsed(&proposal);
    assert_eq!((map["dates"].as_str(), map["decimal"].as_str()), (Some("dmy"), Some(",")));
    assert!(proposal.toml.contains("\n# mass_unit = \"g\""), "{}", proposal.toml);
    let unsure = waits("Tracking number;Accepted at;Weight;Postage\nL1;03/04/2026;113 g;5\n").proposal.unwrap();
    for doubt in ["\n# dates = ", "\n# decimal = "] {
        assert!(unsure.toml.contains(doubt), "{}", unsure.toml);
    }
    assert!(!unsure.toml.contains("mass_unit"), "{}", unsure.toml);
}

#[test]
fn a_proposal_is_finished_by_taking_a_mark_away() {
    let text =
        "Order \"number\",Recipient,Addressee,Street,City,SKU,Qty,Status\n1,Ines,Bo,1 Quay,Fogport,A1,1,in the queue\n";
    let proposal = waits(text).proposal.unwrap();
    let map = proposal
        .toml
        .replace("# name = \"Recipient\"", "name = \"Recipient\"")
        .replace("# \"in the queue\" = \"\"", "\"in the queue\" = \"open\"");
    let table = parsed(&Proposal { toml: map, ..proposal });
    let columns = table["columns"].as_table().unwrap();
    let mut book = order_book();
    book.name = table["name"].as_str().unwrap().to_owned();
    book.headers =
        table["headers"].as_array().unwrap().iter().map(|header| header.as_str().unwrap().to_owned()).collect();
    let field = |word: &str| SalesField::ALL.into_iter().find(|field| field.word() == word).unwrap();
    book.sales = columns.iter().map(|(word, header)| (field(word), header.as_str().unwrap().to_owned())).collect();
    let states = table["states"].as_table().unwrap();
    book.states = states.iter().map(|(word, state)| (word.clone(), state.as_str().unwrap().parse().unwrap())).collect();
    let reading = test_home::read_with(text.as_bytes(), &[book]).unwrap();
    assert_eq!((orders(&reading).len(), reading.source.as_deref()), (1, Some("order-number")), "{reading:?}");
    assert_eq!(orders(&reading)[0].state, OrderState::Open);
}

#[test]
fn columns_without_a_name_are_named_by_letter() {
    let toml = waits_for("Order number,,Street,City,SKU,Qty\n1,Ines,1 Quay,Fogport,A1,1\n", "the recipient's name");
    assert!(toml.contains("# name = \"\"   # none found; one of those below?\n"), "{toml}");
    assert!(toml.contains("# not read: column B   # Ines\n"), "{toml}");
}

#[test]
fn a_header_below_a_preamble_is_found_and_trades_and_sheets_stay_what_they_are() {
    let text = format!("Orders of the week;;;\nPrinted for;Saltmarsh;;\n\n{}", with("Phone", ["", "", ""]));
    let reading = reads(&text);
    assert_eq!((reading.header_line, reading.rows.skipped, reading.rows.taken), (Some(4), 3, 3));
    // The note of an order may speak of a trade.
    let note = "\"Hello,\nTrade with: Ines\nI send:\n1 x GULL\n\"";
    assert_eq!(orders(&reads(&with("Note", [note, "", ""]))).len(), 2);
    let in_doubt = with("Addressee;Note", [&format!("Bo;{note}"), "Bo;", "Bo;"]);
    waits_for(&in_doubt, "could each be `name`");
    let trade =
        "Trade with: Ines Okonjo\nAddress:\n 88 Tern Street, Apt 4\n Gullhaven, OR 97099\nI send:\n 2 x BELL-BUOY\n";
    assert!(test_home::read_with(trade.as_bytes(), &[]).is_ok_and(|reading| reading.matched.is_none()));
}

#[test]
fn one_bad_cell_in_two_is_refused_with_its_row_and_hides_no_column() {
    let reading =
        reads("Order number,Recipient,Street,City,SKU,Qty\n1,Ines,1 Quay,Fogport,A1,2\n2,Bo,2 Quay,Fogport,A1,two\n");
    assert_eq!((orders(&reading).len(), reading.refused[0].why.value.as_deref()), (1, Some("two")));
}

#[test]
fn an_export_without_orders_is_read_as_none() {
    let reading = reads("Order number,Recipient,Street,City,SKU,Qty\n");
    assert_eq!((orders(&reading).len(), reading.rows.read), (0, 0));
}

#[test]
fn refused_rows_come_back_without_a_map_too() {
    let head = "Order number,Recipient,Street,City,SKU,Qty\n";
    let reading =
        reads(&format!("{head}1,Ines,1 Quay,Fogport,A1,2\n2,Bo,2 Quay,Fogport,A1,many\n3,Cy,3 Quay,Fogport,A1,1\n"));
    assert_eq!((orders(&reading).len(), reading.refused.len()), (2, 1));
    let text = String::from_utf8(crate::inbox::refused_rows(&reading).unwrap().1).unwrap();
    let again = reads(&text.replace("many", "3"));
    assert_eq!(again.source, reading.source);
    assert_eq!(orders(&again)[0].lines[0].quantity, 3);
}

proptest::proptest! {
    #[test]
    fn no_table_panics_and_every_proposal_can_be_read(
        headers in proptest::collection::vec(
            proptest::sample::select(vec!["Order", "Name", "Recipient", "Street", "City", "Qty", "SKU", "Total", "Price", "Status", "State", "Date", "Paid", "Address", "", "\"", "Phone", "Vorname"]),
            3..12,
        ),
        cells in proptest::collection::vec("[0-9a-z\"#=,. é/-]{0,9}", 0..60),
    ) {
        let mut csv = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
        csv.write_record(&headers).unwrap();
        for row in cells.chunks(headers.len()) {
            csv.write_record(row).unwrap();
        }
        match test_home::read_with(&csv.into_inner().unwrap(), &[]) {
            Ok(reading) => {
                let rows = reading.rows;
                proptest::prop_assert_eq!(rows.read, rows.taken + rows.refused + rows.skipped);
            }
            Err(ReadError::Waiting(waiting)) => {
                if let Some(proposal) = &waiting.proposal {
                    parsed(proposal);
                }
            }
            Err(ReadError::Unreadable(_)) => {}
        }
    }
}
