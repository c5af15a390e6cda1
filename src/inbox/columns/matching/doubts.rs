//! Columns that may be two things, or say how many and how much in more than one way.

use super::tests::{header, reads, waits_for, with};
use crate::inbox::test_home::orders;
use crate::model::drop::SalesField;
use crate::model::order::OrderState::{Cancelled, Open, Unpaid};

#[test]
fn another_quantity_that_differs_is_asked() {
    let text = |header: &str, one: &str, two: &str| {
        let row = format!("Order number,Recipient,Street,City,Title,Quantity,{header}\n1,Ines,1 Quay,Fogport,Gull,2");
        format!("{row},{one}\n2,Bo,2 Quay,Fogport,Puffin,3,{two}\n")
    };
    // How many of it went already; how many are in a pack.
    for header in ["Quantity delivered", "Gelieferte Menge", "Quantité livrée", "Cantidad entregada", "配送数量"]
    {
        waits_for(&text(header, "1", "0"), &format!("`{header}`"));
        reads(&text(header, "0", "0"));
    }
    for header in ["Qty per pack", "Restmenge", "Pieces in set", "Quantité restante"] {
        let toml = waits_for(&text(header, "2", "5"), &format!("`Quantity` is 3 and `{header}` is 5 on line 3"));
        assert!(toml.contains(&format!("# quantity = \"Quantity\"   # 2 · 3\n# quantity = \"{header}\"")), "{toml}");
        reads(&text(header, "2", "3"));
        reads(&text(header, "2", "a few"));
    }
    waits_for(&text("Qty left to send", "2", "0"), "`Quantity` is 3 and `Qty left to send` is 0 on line 3");
    reads(&text("Discount percent", "10", "10"));
}

#[test]
fn a_word_for_two_fields_is_what_its_cells_and_its_neighbours_say() {
    // `Référence`: the order's where nothing else is, the article's beside what it is called.
    let head = "Commande,Nom,Rue,Ville,Référence,Désignation,Qté";
    let reading = reads(&format!("{head}\n1,Ines,1 Quay,Fogport,MX-1,Macareux,2\n2,Bo,2 Quay,Fogport,PH-2,Phare,1\n"));
    assert_eq!((header(&reading, SalesField::Code), reading.source.as_deref()), (Some("Référence"), Some("commande")));
    // One for two things in an order, or two for one thing, it is no article's.
    for rows in [
        "1,Ines,1 Quay,Fogport,MX-1,Macareux,2\n1,Ines,1 Quay,Fogport,MX-1,Phare,1\n",
        "1,Ines,1 Quay,Fogport,MX-1,Macareux,2\n2,Bo,2 Quay,Fogport,MX-2,Macareux,1\n",
        "1,Ines,1 Quay,Fogport,pour Anne,Macareux,2\n",
    ] {
        assert_eq!(header(&reads(&format!("{head}\n{rows}")), SalesField::Code), None, "{rows}");
    }
    // Apart from the title it must have been seen twice on the same thing.
    let apart = "Order,Reference,Name,Street,City,Title,Qty";
    let rows = "1,MX-1,Ines,1 Quay,Fogport,Gull,2\n2,PH-2,Bo,2 Quay,Fogport,Puffin,1\n";
    assert_eq!(header(&reads(&format!("{apart}\n{rows}")), SalesField::Code), None);
    let reading = reads(&format!("{apart}\n{rows}3,MX-1,Cy,3 Quay,Fogport,Gull,1\n"));
    assert_eq!(header(&reading, SalesField::Code), Some("Reference"));
    let alone = reads("Référence,Nom,Rue,Ville,Désignation,Qté\nR-1,Ines,1 Quay,Fogport,Macareux,2\n");
    assert_eq!((header(&alone, SalesField::Order), header(&alone, SalesField::Code)), (Some("Référence"), None));
}

#[test]
fn a_bare_name_beside_code_or_quantity_is_the_things_where_somebody_else_is_named() {
    let text = |person: &str, thing: &str, cell: &str| {
        format!("Nr zamówienia;{person};Ulica;Miasto;Symbol;{thing};Szt.\n1;Ines;1 Quay;Fogport;MK-1;{cell};2\n")
    };
    let reading = reads(&text("Imię i nazwisko", "Nazwa", "Maskonur"));
    let fields = [SalesField::Name, SalesField::Code, SalesField::Title];
    let headers = fields.map(|field| header(&reading, field));
    assert_eq!(headers, [Some("Imię i nazwisko"), Some("Symbol"), Some("Nazwa")]);
    let reading = reads(&text("Destinataire", "Nom", "Macareux"));
    assert_eq!(
        (header(&reading, SalesField::Name), header(&reading, SalesField::Title)),
        (Some("Destinataire"), Some("Nom"))
    );
    // Who is called like the recipient is no thing.
    assert_eq!(header(&reads(&text("Destinataire", "Nom", "Ines")), SalesField::Title), None);
    // Without anybody else, it is who gets it.
    assert_eq!(header(&reads(&text("Telefon", "Nazwa", "Ines")), SalesField::Name), Some("Nazwa"));
}

#[test]
fn an_amount_paid_that_is_always_the_orders_total_tells_who_paid() {
    let states = |cells: [&str; 3]| {
        let text = with("Order total;Amount paid", cells);
        orders(&reads(&text)).iter().map(|order| order.state).collect::<Vec<_>>()
    };
    assert_eq!(states(["17.00;17.00", "17.00;17.00", "7.50;0.00"]), [Open, Unpaid]);
    assert_eq!(states(["17.00;17.00", "17.00;", "7.50;"]), [Open, Unpaid]);
    assert_eq!(states(["17,00 €;17,00", "17,00 €;17,00", "7,50 €;7,50"]), [Open, Open]);
    let text = |cells| with("Order total;Amount paid", cells);
    waits_for(&text(["17.00;17.00", "17.00;17.00", "7.50;5.00"]), "what it means by `17.00`, `5.00` is not known");
    waits_for(&text(["17.00;17.00", "17.00;17.00", ";5.00"]), "is not known");
    // The next export has other amounts, and a map would not know them.
    let toml = waits_for(
        &with("Addressee;Order total;Amount paid", ["Mo;17.00;17.00", "Mo;17.00;17.00", "Mo;7.50;0.00"]),
        "`Amount paid` tells what is paid by amounts",
    );
    assert!(toml.contains("\n# state = \"Amount paid\"") && !toml.contains("[states]"), "{toml}");
    // Nobody paid anything: nothing is nothing, and empty may be something else.
    assert_eq!(states(["17.00;0.00", "17.00;0.00", "7.50;0.00"]), [Unpaid, Unpaid]);
    waits_for(&text(["17.00;", "17.00;", "7.50;"]), "`Amount paid`");
    // Another column has the last word.
    let told = with("Status;Order total;Amount paid", ["paid;17.00;17.00", "paid;17.00;17.00", "cancelled;7.50;"]);
    assert_eq!(orders(&reads(&told)).iter().map(|order| order.state).collect::<Vec<_>>(), [Open, Cancelled]);
}
