//! Whole tables without a map: read and named, or waiting with a map that a `#` or two finish.

use std::collections::BTreeMap;

use crate::inbox::test_home::{self, order_book, orders, rules};
use crate::inbox::{ReadError, ReadRules, read};
use crate::model::day::{Proposal, Waiting};
use crate::model::drop::{DateOrder, Reading, SalesField};
use crate::model::money::Money;
use crate::model::order::OrderState::{self, Cancelled, Open, PartRefunded, Refunded, Sent, Unpaid};

pub(super) fn reads(text: &str) -> Reading {
    match test_home::read_with(text.as_bytes(), &[]) {
        Ok(reading) => reading,
        Err(error) => panic!("{error:#?}\n{text}"),
    }
}

fn waits_with(text: &str, rules: &ReadRules<'_>) -> Waiting {
    match read("a.csv", text.as_bytes(), rules) {
        Err(ReadError::Waiting(waiting)) => *waiting,
        other => panic!("{other:#?}\n{text}"),
    }
}

fn waits(text: &str) -> Waiting {
    waits_with(text, &rules(&[]))
}

/// Why it waits, which must say so of that and propose a map that can be read.
pub(super) fn waits_for(text: &str, why: &str) -> String {
    let waiting = waits(text);
    assert!(waiting.why.contains(why), "{}\n{text}", waiting.why);
    let proposal = waiting.proposal.unwrap_or_else(|| panic!("{text}"));
    parsed(&proposal);
    proposal.toml
}

fn parsed(proposal: &Proposal) -> toml::Table {
    let table: toml::Table = proposal.toml.parse().unwrap_or_else(|error| panic!("{error}\n{}", proposal.toml));
    let known = ["name", "kind", "headers", "dates", "decimal", "columns", "states"];
    assert!(table.keys().all(|key| known.contains(&key.as_str())), "{}", proposal.toml);
    assert_eq!(table["name"].as_str(), Some(proposal.name.as_str()));
    assert!(!table["headers"].as_array().unwrap().is_empty(), "{}", proposal.toml);
    table
}

pub(super) fn header(reading: &Reading, field: SalesField) -> Option<&str> {
    let matched = reading.matched.as_ref().unwrap();
    matched.iter().find(|(known, _)| *known == field).map(|(_, header)| header.as_str())
}

/// Two orders, the first of two lines, under headers of the cells' order: order, name, street, town, code, country,
/// title, quantity, price, date, email, postage.
pub(super) fn book(headers: &str) -> String {
    format!(
        "{headers}\n\
         1001;Ines Okonjo;88 Tern Street;Gullhaven;97099;US;Bell buoy;2;4.50;2026-11-25;ines@example.net;3.00\n\
         1001;Ines Okonjo;88 Tern Street;Gullhaven;97099;US;Lightship;1;5.00;2026-11-25;ines@example.net;3.00\n\
         1002;Bo Lind;1 Quay;Eastmere;04999;US;Bell buoy;1;4.50;2026-11-26;bo@example.org;3.00\n"
    )
}

#[test]
fn headers_of_eight_languages_are_read_without_a_map() {
    let all = [
        "Order number;Name;Street;City;Postal code;Country;Title;Quantity;Unit price;Order date;Email;Postage",
        "order_id;recipient;address_line_1;town;zip;country_code;item_name;qty;price;ordered_at;email_address;shipping",
        "Order #;Ship name;Ship address 1;Ship city;Ship postcode;Ship country;Product;Pieces;Price each;Date;E-mail;Shipping cost",
        "OrderNo;ShipToName;ShipToStreet;ShipToCity;ShipToZip;ShipToCountry;ItemTitle;Quantity;ItemPrice;PurchaseDate;BuyerEmail;DeliveryCharge",
        "Reference;Addressee;Street address;Town;Post code;Country;Description;Number of items;Each;Date of sale;Mail;Postage charged",
        "Bestellnummer;Empfänger;Straße;Ort;PLZ;Land;Artikelbezeichnung;Menge;Einzelpreis;Bestelldatum;E-Mail;Versandkosten",
        "Bestell-Nr.;Liefername;Lieferadresse;Lieferort;Liefer-PLZ;Lieferland;Artikel;Anzahl;Preis;Datum;E-Mail-Adresse;Porto",
        "AUFTRAGSNR;NAME;STRASSE UND HAUSNUMMER;STADT;POSTLEITZAHL;LAND;PRODUKTNAME;STÜCK;STÜCKPREIS;KAUFDATUM;EMAIL;VERSAND",
        "Numéro de commande;Destinataire;Rue;Ville;Code postal;Pays;Désignation;Quantité;Prix unitaire;Date de commande;Courriel;Frais de port",
        "N° commande;Nom de livraison;Adresse de livraison;Ville de livraison;Code postal de livraison;Pays de livraison;Article;Qté;PU;Commandé le;E-mail;Port",
        "Commande;Nom complet;Adresse;Commune;CP;Pays;Nom du produit;Nombre d'articles;Prix;Date;Adresse e-mail;Frais de livraison",
        "Número de pedido;Destinatario;Calle;Ciudad;Código postal;País;Nombre del artículo;Cantidad;Precio unitario;Fecha de pedido;Correo electrónico;Gastos de envío",
        "Pedido;Nombre;Dirección de envío;Ciudad de envío;Código postal de envío;País de envío;Producto;Unidades;Precio;Fecha;Correo;Envío",
        "Bestelnummer;Ontvanger;Straat;Plaats;Postcode;Land;Artikelnaam;Aantal;Stukprijs;Besteldatum;E-mailadres;Verzendkosten",
        "Ordernummer;Aflevernaam;Afleveradres;Afleverplaats;Afleverpostcode;Afleverland;Product;Aantal stuks;Prijs per stuk;Datum;Email;Porto",
        "Numero ordine;Destinatario;Via;Città;CAP;Paese;Nome articolo;Quantità;Prezzo unitario;Data ordine;E-mail;Spese di spedizione",
        "Ordine;Nome completo;Indirizzo di spedizione;Città di spedizione;CAP di spedizione;Paese di spedizione;Prodotto;Q.tà;Prezzo;Data;Posta elettronica;Spedizione",
        "Numer zamówienia;Odbiorca;Ulica;Miasto;Kod pocztowy;Kraj;Nazwa produktu;Ilość;Cena jednostkowa;Data zamówienia;E-mail;Koszt wysyłki",
        "Zamówienie;Imię i nazwisko;Adres dostawy;Miasto dostawy;Kod pocztowy dostawy;Kraj dostawy;Produkt;Liczba sztuk;Cena;Data;Adres e-mail;Wysyłka",
        "注文番号;宛名;番地;市区町村;郵便番号;国;商品名;数量;単価;注文日;メールアドレス;送料",
        "ご注文番号;お届け先氏名;お届け先住所;お届け先市区町村;お届け先郵便番号;お届け先国;商品;個数;価格;注文日時;メール;送料",
    ];
    let fields = [
        SalesField::Order,
        SalesField::Name,
        SalesField::Address1,
        SalesField::City,
        SalesField::PostalCode,
        SalesField::Country,
        SalesField::Title,
        SalesField::Quantity,
        SalesField::UnitPrice,
        SalesField::PlacedAt,
        SalesField::Email,
        SalesField::PostageCharged,
    ];
    for headers in all {
        let reading = reads(&book(headers));
        let theirs: Vec<&str> = headers.split(';').collect();
        for (field, theirs) in fields.into_iter().zip(&theirs) {
            assert_eq!(header(&reading, field), Some(*theirs), "{field:?} of {headers}");
        }
        let [one, two] = orders(&reading) else { panic!("{reading:?}") };
        assert_eq!((one.lines.len(), two.recipient.city.as_str()), (2, "Eastmere"), "{headers}");
        assert_eq!(one.placed_at.map(|day| day.to_string()).as_deref(), Some("2026-11-25"), "{headers}");
        assert_eq!(one.lines[0].unit_price.map(Money::plain).as_deref(), Some("4.50"), "{headers}");
        assert_eq!((reading.rows.taken, reading.rows.refused), (3, 0), "{headers}");
    }
}

/// The least that is needed: order, name, street, town, what and how many; and one more column.
pub(super) fn with(header: &str, cells: [&str; 3]) -> String {
    let [one, two, three] = cells;
    format!(
        "Order number;Recipient;Street;City;Title;Qty;{header}\n\
         1001;Ines Okonjo;88 Tern Street;Gullhaven;Bell buoy;2;{one}\n\
         1001;Ines Okonjo;88 Tern Street;Gullhaven;Lightship;1;{two}\n\
         1002;Bo Lind;1 Quay;Eastmere;Bell buoy;1;{three}\n"
    )
}

#[test]
fn every_other_field_is_known_by_its_words() {
    let note = ["mint backs please", "", "thanks"];
    for (header_text, cells, field) in [
        ("Line no.", ["1", "2", "1"], SalesField::Line),
        ("Position", ["1", "2", "1"], SalesField::Line),
        ("Paid on", ["2026-11-25"; 3], SalesField::PaidAt),
        ("Bezahlt am", ["25.11.2026"; 3], SalesField::PaidAt),
        ("Bezahlt", ["25.11.2026"; 3], SalesField::PaidAt),
        ("Date de paiement", ["25/11/2026"; 3], SalesField::PaidAt),
        ("入金日", ["2026/11/25"; 3], SalesField::PaidAt),
        ("Ship by", ["2026-11-28"; 3], SalesField::ShipBy),
        ("À expédier avant", ["28/11/2026"; 3], SalesField::ShipBy),
        ("Spedire entro", ["28/11/2026"; 3], SalesField::ShipBy),
        ("Company", ["Tern Club", "Tern Club", ""], SalesField::Company),
        ("Raison sociale", ["Tern Club", "Tern Club", ""], SalesField::Company),
        ("Address line 2", ["Apt 4", "Apt 4", ""], SalesField::Address2),
        ("Complément d'adresse", ["Apt 4", "Apt 4", ""], SalesField::Address2),
        ("Adresszusatz", ["Hinterhaus", "Hinterhaus", ""], SalesField::Address2),
        ("Region", ["Oregon", "Oregon", "Maine"], SalesField::Region),
        ("Ship state", ["OR", "OR", "ME"], SalesField::Region),
        ("Bundesland", ["Hamburg", "Hamburg", "Bremen"], SalesField::Region),
        ("Provincia", ["MI", "MI", "TO"], SalesField::Region),
        ("都道府県", ["東京都", "東京都", "大阪府"], SalesField::Region),
        ("SKU", ["BELL-1", "LIGHT-9", "BELL-1"], SalesField::Code),
        ("Artikelnummer", ["BELL-1", "LIGHT-9", "BELL-1"], SalesField::Code),
        ("Kod produktu", ["BELL-1", "LIGHT-9", "BELL-1"], SalesField::Code),
        ("商品コード", ["BELL-1", "LIGHT-9", "BELL-1"], SalesField::Code),
        ("Variant", ["gold", "silver", ""], SalesField::Options),
        ("Ausführung", ["gold", "silver", ""], SalesField::Options),
        ("Customer note", note, SalesField::Note),
        ("Bemerkung", note, SalesField::Note),
        ("Uwagi kupującego", note, SalesField::Note),
        ("備考", note, SalesField::Note),
        ("Gift", ["yes", "yes", "no"], SalesField::Gift),
        ("Cadeau", ["ja", "ja", ""], SalesField::Gift),
        ("Gift message", ["With love", "", ""], SalesField::GiftMessage),
        ("Grußtext", ["Alles Gute", "", ""], SalesField::GiftMessage),
        ("Discount", ["-1.00", "", ""], SalesField::Discount),
        ("Korting", ["1,00", "", ""], SalesField::Discount),
        ("VAT", ["0.90", "", "0.40"], SalesField::Tax),
        ("消費税", ["90", "", "40"], SalesField::Tax),
        ("Order total", ["17.00", "17.00", "7.50"], SalesField::Total),
        ("合計金額", ["1700", "1700", "750"], SalesField::Total),
        ("Currency", ["EUR", "EUR", "EUR"], SalesField::Currency),
        ("Waluta", ["PLN", "PLN", "PLN"], SalesField::Currency),
        ("Status", ["paid", "paid", "cancelled"], SalesField::State),
        ("Zahlungsstatus", ["bezahlt", "bezahlt", "offen"], SalesField::State),
        ("Estado del pedido", ["pagado", "pagado", "cancelado"], SalesField::State),
        ("支払状況", ["入金済み", "入金済み", "未入金"], SalesField::State),
        ("Buyer", ["Mo Okonjo", "Mo Okonjo", "Bo Lind"], SalesField::Buyer),
        ("Rechnungsname", ["Mo Okonjo", "Mo Okonjo", "Bo Lind"], SalesField::Buyer),
    ] {
        let reading = reads(&with(header_text, cells));
        assert_eq!(header(&reading, field), Some(header_text), "{:?}", reading.matched);
        assert_eq!((reading.rows.taken, reading.rows.refused), (3, 0), "{header_text}: {reading:?}");
    }
}

#[test]
fn a_map_of_the_home_wins_and_one_that_lacks_a_column_keeps_its_file() {
    let text = "Ref,Name,Street,Town,Pin,Qty\n1,Ines,1 Quay,Fogport,GULL,1\n";
    let reading = test_home::read_with(text.as_bytes(), &[order_book()]).unwrap();
    assert_eq!((reading.source.as_deref(), reading.matched), (Some("stall"), None));
    let text = text.replace("Pin", "SKU").replace("Ref", "Order number");
    let mut book = order_book();
    book.headers = vec!["Street".into(), "Town".into()];
    let waiting = waits_with(&text, &rules(&[book]));
    assert!(waiting.why.contains("columns/stall.toml reads `order`"), "{}", waiting.why);
    assert_eq!(reads(&text).source.as_deref(), Some("order-number"));
}

#[test]
fn a_map_by_any_delimiter_wins_over_a_match_by_another() {
    // By commas it looks like a table that can be matched; by the map it is one of semicolons.
    let text = "Order number,Recipient,Street,City,Title,Qty;Ref;Name;Pin\n1,Ines,Quay,Fogport,Gull,1;7;Bo;GULL\n\
                2,Ines,Quay,Fogport,Gull,1;8;Bo;GULL\n";
    let mut book = order_book();
    book.headers = vec!["Ref".into(), "Pin".into()];
    book.sales.remove(&SalesField::Quantity);
    let reading = test_home::read_with(text.as_bytes(), &[book]).unwrap();
    assert_eq!((reading.source.as_deref(), orders(&reading).len()), (Some("stall"), 2));
}

#[test]
fn the_source_is_named_after_the_order_number_whatever_else_changes() {
    let one = reads(&book(
        "Order number;Name;Street;City;Postal code;Country;Title;Quantity;Unit price;Order date;Email;Postage",
    ));
    let other = reads("Title,Qty,City,Phone,Street,Recipient,ORDER NUMBER\nBell buoy,1,Fogport,5,1 Quay,Bo,1003\n");
    assert_eq!((one.source.as_deref(), other.source.as_deref()), (Some("order-number"), Some("order-number")));
    assert_eq!(orders(&other)[0].id.to_string(), "order-number:1003");
    let text = with("Phone", ["1", "2", "3"]);
    assert_eq!(reads(&text.replace("Order number", "注文番号")).source.as_deref(), Some("注文番号"));
    assert_eq!(reads(&text.replace("Order number", "orderNumber")).source.as_deref(), Some("order-number"));
}

#[test]
fn the_match_is_named_with_what_is_not_read() {
    let reading = reads(&with("Phone", ["555 01", "", ""]));
    let texts: Vec<&str> = reading.remarks.iter().map(|remark| remark.text.as_str()).collect();
    assert_eq!(
        texts,
        ["read without a column map: order = `Order number`, name = `Recipient`, address1 = `Street`, city = `City`, \
          title = `Title`, quantity = `Qty`; no column says what is paid, so all of it counts as paid; not read: `Phone`"]
    );
    let german = reads(
        "Bestellnummer;Liefername;Straße;Ort;Artikel;Menge;Einzelpreis;Bestelldatum;Zahlungsstatus\n\
         1001;Ines Okonjo;Kaiweg 7;Nebelhafen;Glockenboje;2;4,50;25.11.2026;bezahlt\n",
    );
    let text = &german.remarks[0].text;
    assert!(
        text.starts_with("read without a column map: order = `Bestellnummer`, placed_at = `Bestelldatum`"),
        "{text}"
    );
    assert!(text.ends_with("; dates day first; decimal comma"), "{text}");
}

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
