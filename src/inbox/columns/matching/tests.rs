//! Whole tables without a map: read and named, or waiting with a map that a `#` or two finish.

use std::collections::BTreeMap;

use crate::inbox::test_home::{self, order_book, orders, rules};
use crate::inbox::{ReadError, ReadRules, read};
use crate::model::day::{Proposal, Waiting};
use crate::model::drop::{DateOrder, Reading, SalesField};
use crate::model::money::Money;
use crate::model::order::OrderState::{self, Cancelled, Open, PartRefunded, Refunded, Sent, Unpaid};

mod amounts;
mod people;
mod proposals;
mod states;

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
