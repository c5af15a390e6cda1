//! How an order stands, and its days.

use super::*;

#[test]
fn an_order_number_is_of_one_recipient_and_on_every_row() {
    let head = "Order,Recipient,Street,City,SKU,Qty";
    // The same "order" for everybody: the number of the list, perhaps.
    waits_for(
        &format!("{head}\n7,Ines,1 Quay,Fogport,A1,1\n7,Bo,2 Quay,Fogport,A1,1\n7,Cy,3 Quay,Fogport,A1,1\n"),
        "no column is known to hold the order number",
    );
    waits_for(&format!("{head}\n7,Ines,1 Quay,Fogport,A1,1\n,,,,A2,1\n"), "`Order` is empty on line 3");
    // "Reference" is perhaps one: then it must have digits.
    let perhaps = head.replace("Order,", "Reference,");
    waits_for(&format!("{perhaps}\nfair,Ines,1 Quay,Fogport,A1,1\n"), "no column is known to hold the order number");
    assert_eq!(reads(&format!("{perhaps}\nF-17,Ines,1 Quay,Fogport,A1,1\n")).source.as_deref(), Some("reference"));
}

#[test]
fn states_of_all_kinds_are_read_and_unknown_ones_asked() {
    let states = |header: &str, cells: [&str; 3]| {
        let reading = reads(&with(header, cells));
        orders(&reading).iter().map(|order| order.state).collect::<Vec<_>>()
    };
    assert_eq!(states("Status", ["Paid", "Paid", "Awaiting payment"]), [Open, Unpaid]);
    assert_eq!(states("Bestellstatus", ["zu versenden", "zu versenden", "versendet"]), [Open, Sent]);
    assert_eq!(states("Statut", ["À expédier", "À expédier", "Annulée"]), [Open, Cancelled]);
    assert_eq!(states("Stato ordine", ["da spedire", "da spedire", "rimborsato"]), [Open, Refunded]);
    assert_eq!(states("Status zamówienia", ["opłacone", "opłacone", "częściowy zwrot"]), [Open, PartRefunded]);
    assert_eq!(states("Paid", ["yes", "yes", "no"]), [Open, Unpaid]);
    assert_eq!(states("Betaald", ["ja", "ja", "nee"]), [Open, Unpaid]);
    assert_eq!(states("Paid on", ["2026-11-25", "", ""]), [Open, Unpaid]);
    assert_eq!(states("Cancelled", ["no", "no", "yes"]), [Open, Cancelled]);
    // Called anything: states show by their words.
    assert_eq!(states("How far", ["paid", "paid", "refunded"]), [Open, Refunded]);
    let toml =
        waits_for(&with("Status", ["paid", "paid", "in the queue"]), "what it means by `in the queue` is not known");
    assert!(toml.contains("\nstate = \"Status\"   # paid · in the queue\n"), "{toml}");
    assert!(
        toml.contains("[states]\n\"paid\" = \"open\"\n# \"in the queue\" = \"\"   # of `Status`; one of open, unpaid"),
        "{toml}"
    );
    waits_for(&with("Status", ["new", "new", "new"]), "`new`");
    waits_for(&with("Payment status", ["12.50", "12.50", "0"]), "`12.50`");
    waits_for(&with("How far", ["pending", "pending", "pending"]), "`pending`");
    // How it was paid is no state.
    assert_eq!(states("Payment", ["card", "card", "bank transfer"]), [Open, Open]);
    waits_for(&with("Payment", ["card", "card", "owing"]), "`card`, `owing`");
    assert_eq!(states("Condition", ["new", "new", "new"]), [Open, Open]);
}

#[test]
fn an_order_that_another_column_has_as_sent_is_not_sent_again() {
    // A parcel's number is only given to what was sent.
    let tracking = with("Tracking number", ["", "", "NP123456789"]);
    waits_for(&tracking, "no column alone tells how every order stands, such as `1002` by `Tracking number`");
    reads(&with("Tracking number", ["", "", ""]));
    waits_for(&with("Shipped on", ["", "", "2026-11-24"]), "`1002` by `Shipped on`");
    waits_for(&with("Versendete Menge", ["0", "0", "1"]), "`1002` by `Versendete Menge`");
    waits_for(&with("Refund", ["0.00", "", "4.50"]), "`1002` by `Refund`");
    // With a column of states that says the same, that one is read.
    let told = with("Status;Tracking number", ["paid;", "paid;", "shipped;NP123456789"]);
    let reading = reads(&told);
    assert_eq!(
        orders(&reading).iter().map(|order| order.state).collect::<Vec<_>>(),
        [OrderState::Open, OrderState::Sent]
    );
    waits_for(
        &with("Status;Tracking number", ["paid;", "paid;", "paid;NP1"]),
        "`1002` by `Status` and `Tracking number`",
    );
    let refunded = reads(&with("Status;Refund", ["paid;0", "paid;0", "partially refunded;4.50"]));
    assert_eq!(orders(&refunded)[1].state, OrderState::PartRefunded);
}

#[test]
fn of_several_states_the_one_that_says_what_all_say_is_read() {
    let both = |cells| with("Order status;Payment status", cells);
    let reading = reads(&both(["paid;paid", "paid;paid", "cancelled;unpaid"]));
    assert_eq!(header(&reading, SalesField::State), Some("Order status"));
    let reading = reads(&with("Payment status;Shipping status", ["paid;pending", "paid;pending", "unpaid;pending"]));
    assert_eq!(header(&reading, SalesField::State), Some("Payment status"));
    waits_for(
        &with("Payment status;Shipping status", ["unpaid;pending", "unpaid;pending", "paid;shipped"]),
        "no column alone tells how every order stands",
    );
    // Unpaid by its day, open by its state.
    let reading = reads(&with("Status;Paid on", ["to send;2026-11-25", "to send;", "to send;"]));
    assert_eq!((orders(&reading)[1].state, header(&reading, SalesField::State)), (OrderState::Unpaid, None));
    waits_for(&with("Status", ["paid", "", ""]), "`Status` says nothing of order `1002`");
    // A payment that is not told of is none, whatever another column says.
    waits_for(
        &with("Order status;Payment status", ["to send;paid", "to send;paid", "to send;"]),
        "such as `1002` by `Order status` and `Payment status`",
    );
}

#[test]
fn a_state_of_an_address_is_told_from_one_of_an_order() {
    let text =
        |state: &str| format!("Order number,Recipient,Street,City,State,SKU,Qty\n1,Ines,1 Quay,Fogport,{state},A1,1\n");
    assert_eq!(header(&reads(&text("Oregon")), SalesField::Region), Some("State"));
    assert_eq!(header(&reads(&text("paid")), SalesField::State), Some("State"));
    waits_for(&text("pending"), "`pending`");
    let apart =
        |state: &str| format!("Order number,State,Recipient,Street,City,SKU,Qty\n1,{state},Ines,1 Quay,Fogport,A1,1\n");
    assert_eq!(header(&reads(&apart("OR")), SalesField::Region), Some("State"));
    waits_for(&apart("in the queue"), "`in the queue`");
}

#[test]
fn days_that_could_be_two_are_asked_once_for_the_source() {
    let text = with("Order date", ["03/04/2026", "03/04/2026", "05/04/2026"]);
    let waiting = waits(&text);
    let asked = waiting.date_asked.unwrap();
    assert_eq!(
        (asked.source.as_str(), asked.column.as_str(), asked.value.as_str()),
        ("order-number", "Order date", "03/04/2026")
    );
    let toml = waiting.proposal.unwrap().toml;
    assert!(
        toml.contains(
            "\n# dates = \"dmy\"   # 03/04/2026 is 2026-04-03\n# dates = \"mdy\"   # 03/04/2026 is 2026-03-04\n"
        ),
        "{toml}"
    );
    for (order, day) in [(DateOrder::Dmy, "2026-04-03"), (DateOrder::Mdy, "2026-03-04")] {
        let answers = BTreeMap::from([("order-number".to_owned(), order)]);
        let reading = read("a.csv", text.as_bytes(), &ReadRules { dates: &answers, ..rules(&[]) }).unwrap();
        assert_eq!(orders(&reading)[0].placed_at.map(|day| day.to_string()).as_deref(), Some(day));
    }
    // Another column of days decides for all.
    let told = with("Order date;Ship by", ["03/04/2026;03/25/2026"; 3]);
    assert_eq!(orders(&reads(&told))[0].placed_at.map(|day| day.to_string()).as_deref(), Some("2026-03-04"));
    // Nothing is asked where an answer would not do.
    assert_eq!(waits(&text.replace("Qty", "Phone")).date_asked, None);
    waits_for(&with("Order date", ["25/04/2026", "", "04/25/2026"]), "days are written in two ways");
}
