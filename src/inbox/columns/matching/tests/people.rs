//! Whose order it is, and where it goes.

use super::*;

#[test]
fn delivery_beats_bare_and_bare_beats_the_bill() {
    let text = "Order number,Billing name,Billing street,Billing city,Name,Street,City,Delivery name,Delivery street,Delivery city,SKU,Qty\n\
                1,Pay Er,1 Bill St,Billtown,Bare Er,2 Bare St,Baretown,Re Cipient,3 Ship St,Shiptown,A1,1\n";
    let reading = reads(text);
    let [order] = orders(&reading) else { panic!("{reading:?}") };
    assert_eq!((order.recipient.name.as_str(), order.recipient.city.as_str()), ("Re Cipient", "Shiptown"));
    assert_eq!(order.recipient.lines, ["3 Ship St"]);
    assert_eq!(order.buyer.as_deref(), Some("Pay Er"));
    let bare = reads(&text.replace("Delivery ", "Other "));
    assert_eq!((orders(&bare)[0].recipient.name.as_str(), header(&bare, SalesField::City)), ("Bare Er", Some("City")));
}

#[test]
fn an_address_is_never_made_of_two() {
    let head = "Order number,Name,Street,City,Country,Delivery name,Delivery street,Delivery city,SKU,Qty";
    let row = "1,Bare Er,2 Bare St,Baretown,DE,Re Cipient,3 Ship St,Shiptown,A1,1";
    let toml = waits_for(&format!("{head}\n{row}\n"), "`Country` belongs to another address than the one to send to");
    assert!(toml.contains("# country = \"Country\"   # DE"), "{toml}");
    // With one address alone, a country without owner is its.
    let reading = reads(
        "Order number,Delivery name,Delivery street,Delivery city,Country,SKU,Qty\n1,Re,3 Ship St,Shiptown,DE,A1,1\n",
    );
    assert_eq!(header(&reading, SalesField::Country), Some("Country"));
    let nameless = format!("{head}\n{row}\n").replace("Delivery name", "Phone").replace("Country", "Zone");
    waits_for(&nameless, "`Name` stands with another address");
}

#[test]
fn the_address_of_the_bill_alone_is_asked() {
    let toml = waits_for(
        "Order number,Customer,Billing street,Billing city,SKU,Qty\n1,Bo Lind,1 Quay,Fogport,A1,1\n",
        "`Billing street` is the address of the bill",
    );
    assert!(toml.contains("# address1 = \"Billing street\"   # 1 Quay"), "{toml}");
    assert!(toml.contains("# city = \"Billing city\"   # Fogport"), "{toml}");
}

#[test]
fn a_whole_address_in_one_cell_waits() {
    let head = "Order number,Recipient,Address,SKU,Qty";
    waits_for(&format!("{head}\n1,Bo Lind,\"1 Quay, 04999 Fogport\",A1,1\n"), "`Address` looks like the whole address");
    let town = "Order number,Recipient,Delivery address,City,Postal code,SKU,Qty";
    waits_for(
        &format!("{town}\n1,Bo Lind,\"1 Quay, 04999 Fogport\",Fogport,04999,A1,1\n"),
        "`Delivery address` looks like the whole address",
    );
    let reading = reads(&format!("{town}\n1,Bo Lind,1 Quay,Fogport,04999,A1,1\n"));
    assert_eq!(header(&reading, SalesField::Address1), Some("Delivery address"));
}

#[test]
fn a_name_in_parts_waits_unless_it_is_there_whole() {
    let toml = waits_for(
        "Order number,First name,Last name,Street,City,SKU,Qty\n1,Ines,Okonjo,1 Quay,Fogport,A1,1\n",
        "the recipient's name is in parts (`First name` and `Last name`); export it whole",
    );
    assert!(toml.contains("# name = \"First name\"   # Ines\n# name = \"Last name\"   # Okonjo\n"), "{toml}");
    // `Name` beside `Vorname` is the last name, unless it holds both.
    for (name, reads_it) in [("Okonjo", false), ("Ines Okonjo", true)] {
        let text = format!(
            "Bestellnummer;Vorname;Name;Straße;Ort;Artikelnummer;Menge\n1;Ines;{name};Kaiweg 7;Nebelhafen;A1;1\n"
        );
        if reads_it {
            assert_eq!(header(&reads(&text), SalesField::Name), Some("Name"));
        } else {
            waits_for(&text, "`Vorname` and `Name`");
        }
    }
    waits_for(
        "Order number,Buyer,Ship first name,Ship last name,Street,City,SKU,Qty\n1,Mo,Ines,Okonjo,1 Quay,Fogport,A1,1\n",
        "`Ship first name` and `Ship last name`",
    );
    let whole = reads(
        "Order number,First name,Last name,Recipient,Street,City,SKU,Qty\n1,Mo,Okonjo,Ines Okonjo,1 Quay,Fogport,A1,1\n",
    );
    assert_eq!(header(&whole, SalesField::Name), Some("Recipient"));
}

#[test]
fn a_house_number_apart_from_its_street_waits() {
    let head = "Bestellnummer;Empfänger;Straße;Hausnummer;Ort;Artikelnummer;Menge";
    let toml = waits_for(&format!("{head}\n1;Ines;Kaiweg;7;Nebelhafen;A1;1\n"), "the house number stands apart");
    assert!(toml.contains("# address2 = \"Hausnummer\"   # 7"), "{toml}");
    reads(&format!("{head}\n1;Ines;Kaiweg 7;7;Nebelhafen;A1;1\n"));
}

#[test]
fn a_name_of_things_is_not_the_recipients() {
    // Three orders for the same thing: `Name` is what was sold.
    let text = "Order number,Name,Street,City,Qty\n1,Bell buoy,1 Quay,Fogport,1\n2,Bell buoy,2 Quay,Eastmere,1\n3,Bell buoy,3 Quay,Eastmere,1\n";
    waits_for(text, "no column is known to hold the recipient's name");
    let text = "Order number,Name,Recipient,Street,City,Qty\n1,Bell buoy,Ines,1 Quay,Fogport,1\n1,Lightship,Ines,1 Quay,Fogport,1\n2,Lightship,Bo,2 Quay,Eastmere,1\n";
    let reading = reads(text);
    assert_eq!(
        (header(&reading, SalesField::Name), header(&reading, SalesField::Title)),
        (Some("Recipient"), Some("Name"))
    );
}
