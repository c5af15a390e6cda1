//! Header rows as sellers in eight languages write them, each read without a map.

use super::tests::{book, header};
use crate::inbox::ReadError;
use crate::inbox::test_home::{orders, read_with};
use crate::model::drop::SalesField;

/// Of the cells' order.
const FIELDS: [SalesField; 12] = [
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

/// Plain words of the trade; common practice, no source.
const ROWS: [(&str, [&str; 10]); 8] = [
    (
        "en",
        [
            "Order no.;Customer;Street;Town;Postcode;Country;Item;Qty.;Price;Date;E-mail;P&P",
            "Order ID;Deliver to;Address line 1;City;Post code;Country;Article;Quantity;Price each;Date ordered;Email;Carriage",
            "Order Nr;Name;Street & no.;Place;ZIP;Country name;Product;Pcs.;Unit cost;Ordered;Contact email;Freight",
            "Sale no.;Sent to;Street address;Town/City;Postcode;Country;Description;No. of items;Each;Sold on;Mail address;Postage & packing",
            "Order;Full name;Address;City/Town;ZIP/Postal code;Country;Goods;Units;Price/unit;Day;Email addr.;Shipping fee",
            "Order #;Recipient's name;House and street;Town;Postal Code;Destination country;Badge;No. of pieces;Price per item;Order placed;E-Mail;Delivery fee",
            "Ref. no.;Addressee's name;Street;Town;Post Code;Country;Design;How many?;Price (USD);Date of order;Email;Postage",
            "Order num;Name of recipient;Address 1;City;Postcode;Country;Pin;Amount ordered;Price USD;Date;Email;Post & packing",
            "Purchase no.;Ship to name;Ship to address;Ship to town;Ship to postcode;Ship to country;Name of article;Qty ordered;Unit Price;Bought on;Buyer's email;Shipping",
            "Invoice no.;Person;Road;Town;Postcode;Country;Thing;Quantity;Single price;Order day;Email;Mailing cost",
        ],
    ),
    (
        "de",
        [
            "Bestell-Nr;Name;Straße;Ort;PLZ;Land;Artikel;Anz.;Preis;Datum;E-Mail;Versandk.",
            "Auftrags-Nr.;Kunde;Straße/Nr.;Stadt;Postleitzahl;Staat;Bezeichnung;Stk.;E-Preis;Bestelltag;Mail;Versandgebühr",
            "Bestellung Nr.;Empfängername;Str.;Wohnort;PLZ;Land;Produkt;Menge;Einzelpreis (USD);Best.-Datum;E-Mail;Porto und Verpackung",
            "Best.-Nr.;Name, Vorname;Strasse, Hausnr.;Ort;Plz;Land;Art.-Bez.;Stück;VK-Preis;bestellt am;Email;Porto",
            "Beleg-Nr.;Vor- und Nachname;Anschrift;Ort;PLZ;Land;Artikelbeschreibung;Anzahl;Preis/Stück;Datum;Mailadresse;Versand",
            "Auftragsnr.;Lieferung an;Lieferstraße;Lieferort;Liefer-Postleitzahl;Lieferland;Ware;Anzahl Stück;Stückpreis;Auftrag vom;E-Mail-Adresse;Versandkostenanteil",
            "Bestellnr.;Adressat;Straße + Nr.;Ort;PLZ;Land;Was;Wie viele;Preis pro Stk.;Bestellung vom;E-Mail Kunde;Porto/Versand",
            "Bestellnummer;Name des Empfängers;Straße und Hausnummer;Ortschaft;PLZ;Zielland;Gegenstand;Bestellmenge;Preis USD;Bestellzeitpunkt;Kontakt-E-Mail;Porto",
            "Rechnungsnr.;Kundenname;Straße, Nr.;Ort;PLZ;Land;Artikelname;Stückzahl;Einzelpreis;Verkauft am;E-Mail;Frachtkosten",
            "Nr. der Bestellung;Besteller;Adresse;Stadt;PLZ;Land;Motiv;Menge (Stk);Stückpreis in USD;Tag;Email;Versandkosten (USD)",
        ],
    ),
    (
        "fr",
        [
            "N° cde;Nom;Adresse;Ville;C.P.;Pays;Article;Qté;Prix;Date;Mail;Port",
            "N° de commande;Client;Rue;Localité;Code postal;Pays;Libellé;Quantité;P.U.;Date commande;E-mail;Frais de port",
            "Commande n°;Nom et prénom;Adresse postale;Ville;CP;Pays;Désignation;Nb;Prix unit.;Commandé le;Courriel;Affranchissement",
            "Num. commande;Nom du client;N° et rue;Commune;Code Postal;Pays;Description article;Nombre;Prix à l'unité;Date d'achat;Adresse mail;Frais d'envoi",
            "Réf. commande;Expédié à;Adresse d'expédition;Ville d'expédition;Code postal d'expédition;Pays d'expédition;Produit;Qte;Prix unitaire (USD);Date de la vente;Email;Livraison",
            "Vente n°;Nom destinataire;Rue et n°;Ville;Code postal;Pays de destination;Nom article;Quantité;Prix pièce;Vendu le;E-mail client;Frais postaux",
            "No commande;Nom/Prénom;Voie;Ville;Code postal;Pays;Objet;Quantités;Prix/pièce;Date;Mél;Frais d'affranchissement",
            "Facture n°;Adressé à;Adresse;Ville;CP;Pays;Modèle;Combien;Prix de vente;Jour;Email;Port et emballage",
            "ID commande;Nom du destinataire;Adresse du destinataire;Ville du destinataire;Code postal du destinataire;Pays du destinataire;Badge;Unités;Tarif;Passée le;Courriel client;Coût d'envoi",
            "Bon n°;Bénéficiaire;Rue;Ville;Code postal;Pays;Article commandé;Pièces;Prix unitaire en USD;Date de cde;Courrier électronique;Coût du port",
        ],
    ),
    (
        "es",
        [
            "Nº pedido;Nombre;Dirección;Ciudad;C.P.;País;Artículo;Cant.;Precio;Fecha;E-mail;Portes",
            "N.º de pedido;Cliente;Calle y nº;Población;Cód. postal;País;Descripción;Cantidad;Precio ud.;Fecha pedido;Correo electrónico;Gastos envío",
            "Pedido n.º;Nombre y apellidos;Domicilio;Localidad;Código Postal;País;Producto;Uds.;P. unitario;Fecha de compra;Correo;Envío",
            "Núm. pedido;Enviar a nombre de;Dirección de entrega;Ciudad de entrega;Código postal de entrega;País de entrega;Concepto;Unid.;Precio unidad;Fecha de venta;Email;Gastos postales",
            "ID pedido;Destinatario;Calle, número;Municipio;CP;País de destino;Nombre artículo;Nº de unidades;Precio unit.;Pedido el;Correo-e;Coste envío",
            "Orden nº;A nombre de;Dirección postal;Pueblo;Código postal;País;Modelo;Piezas;Precio c/u;Fecha;Mail;Franqueo",
            "Venta nº;Comprador;Calle;Ciudad;C. postal;País;Chapa;Cuántos;Precio de venta;Vendido el;E-mail cliente;Porte",
            "Factura nº;Receptor;Vía;Ciudad;CP;País;Objeto;Nº uds.;Precio (USD);Día;Correo cliente;Flete",
            "Ref. pedido;Nombre destinatario;Dirección destinatario;Ciudad destinatario;CP destinatario;País destinatario;Artículo pedido;Cdad.;Precio USD;Fecha orden;E-mail;Gastos de correo",
            "Número pedido;Nombre cliente;Calle y número;Ciudad;CP;País;Título;Ctd.;Precio por pieza;Fecha compra;Dirección de correo;Manipulación y envío",
        ],
    ),
    (
        "nl",
        [
            "Bestelnr.;Naam;Adres;Plaats;Postcode;Land;Artikel;Aant.;Prijs;Datum;E-mail;Porto",
            "Order nr.;Klant;Straat + nr.;Woonplaats;Postcode;Land;Omschrijving;Aantal;Prijs p.st.;Orderdatum;Mail;Verzendkosten",
            "Bestelling nr;Voor- en achternaam;Straat en nr;Stad;PC;Land;Product;Stuks;Stuksprijs;Bestel datum;E-mail adres;Portokosten",
            "Ordernr;Verzonden aan;Verzendadres;Verzendplaats;Verzendpostcode;Verzendland;Artikelomschrijving;Hoeveelheid;Prijs/stuk;Besteld op;Emailadres;Verzending",
            "Factuurnr.;Ontvanger;Straat;Gemeente;Postcode;Land van bestemming;Benaming;Hoeveel;Prijs (USD);Dag;E-mail klant;Frankering",
            "Verkoop nr.;Geadresseerde;Straatnaam en nummer;Dorp of stad;Postcode;Land;Wat;Aantal besteld;Prijs per eenheid;Verkocht op;E-mail;Verzending en verpakking",
            "Bestel-ID;Naam ontvanger;Adres ontvanger;Plaats ontvanger;Postcode ontvanger;Land ontvanger;Naam artikel;St.;Eenheidsprijs;Datum bestelling;E-mail;Bezorgkosten",
            "Opdrachtnr.;Bestemd voor;Bezorgadres;Bezorgplaats;Bezorgpostcode;Bezorgland;Ontwerp;Aantal;Verkoopprijs;Aankoopdatum;Mailadres;Kosten verzending",
            "Bonnr.;Persoon;Straat/huisnr.;Plaatsnaam;Postcode;Land;Ding;Aantal st.;Prijs USD;Datum order;E-mail;Vracht",
            "Bestelnummer;Besteller;Adres;Plaats;Postcode;Land;Voorwerp;Bestelaantal;Prijs per st.;Besteldag;Contact e-mail;Verzendkosten (USD)",
        ],
    ),
    (
        "it",
        [
            "N. ordine;Nome;Indirizzo;Città;C.A.P.;Paese;Articolo;Q.tà;Prezzo;Data;E-mail;Spedizione",
            "Ordine n.;Cliente;Via e n.;Comune;CAP;Nazione;Descrizione;Quantità;Prezzo unit.;Data ordine;Mail;Spese spedizione",
            "N° ordine;Nome e cognome;Via;Località;Cap;Stato;Denominazione;Pz.;Prezzo cad.;Data acquisto;Posta elettronica;Spese postali",
            "Num. ordine;Spedito a;Indirizzo di consegna;Città di consegna;CAP di consegna;Paese di consegna;Prodotto;Qta;Prezzo al pz.;Ordinato il;Email;Costo spedizione",
            "ID ordine;Destinatario;Via/Piazza;Città;CAP;Paese di destinazione;Oggetto;N. pezzi;Prezzo pezzo;Data vendita;Indirizzo e-mail;Affrancatura",
            "Rif. ordine;Nominativo;Indirizzo destinatario;Città destinatario;CAP destinatario;Paese destinatario;Nome dell'articolo;N. unità;Prezzo di vendita;Venduto il;E-mail cliente;Porto",
            "Vendita n.;Intestatario;Indirizzo;Località;CAP;Nazione;Modello;Quanti;Prezzo (USD);Giorno;Mail cliente;Trasporto",
            "Fattura n.;Acquirente;Via, numero;Città;CAP;Paese;Spilla;Unità;Prezzo USD;Data;E-mail;Spese di invio",
            "Commessa n.;A nome di;Indirizzo spedizione;Città spedizione;CAP spedizione;Paese spedizione;Voce;Nr. pezzi;Prezzo cadauno;Data dell'acquisto;Email;Contributo spedizione",
            "Numero d'ordine;Cognome e nome;Via e numero;Città;Codice postale;Paese;Merce;Qtà ordinata;Prezzo per pezzo;Data di ordine;E-mail;Spese di trasporto",
        ],
    ),
    (
        "pl",
        [
            "Nr zam.;Imię i nazwisko;Adres;Miasto;Kod poczt.;Kraj;Towar;Szt.;Cena;Data;E-mail;Przesyłka",
            "Zamówienie nr;Klient;Ulica i nr;Miejscowość;Kod poczt.;Kraj;Nazwa towaru;Ilość szt.;Cena szt.;Data zam.;Mail;Koszt przesyłki",
            "Numer zamówienia;Odbiorca;Ulica, nr domu;Miasto;Kod pocztowy;Państwo;Opis;Liczba;Cena jedn.;Data złożenia;Adres mailowy;Opłata pocztowa",
            "ID zamówienia;Wysłano do;Adres wysyłki;Miasto wysyłki;Kod pocztowy wysyłki;Kraj wysyłki;Artykuł;Ilość;Cena za szt.;Zamówiono;Email;Koszt wysyłki",
            "Nr sprzedaży;Nazwisko i imię;Ulica;Poczta;Kod pocztowy;Kraj docelowy;Przedmiot;Ile;Cena (USD);Dzień;E-mail klienta;Porto",
            "Nr faktury;Adresat;Ulica/nr;Miasto;Kod pocztowy;Kraj;Wzór;Sztuki;Cena sprzedaży;Sprzedano dnia;E-mail;Opłata za wysyłkę",
            "Nr zlecenia;Dla kogo;Adres odbiorcy;Miasto odbiorcy;Kod pocztowy odbiorcy;Kraj odbiorcy;Nazwa przedmiotu;L. szt.;Cena zł;Data zakupu;Poczta elektroniczna;Koszt dostawy",
            "Zam. nr;Osoba;Ul.;Miejscowość;Kod-pocztowy;Kraj;Przypinka;Zamówiona ilość;Cena jednostkowa (USD);Data sprzedaży;E-mail;Koszty przesyłki",
            "Numer zam.;Imię, nazwisko;Ulica i numer;Miasto;Kod pocztowy;Kraj;Rzecz;Liczba sztuk;Cena za 1 szt.;Data zamówienia;Kontakt e-mail;Wysyłka",
            "Zamówienie;Nabywca;Adres;Miasto/wieś;Kod pocztowy;Kraj;Model;Ilość sztuk;Cena w USD;Data;Adres e-mail;Dostawa",
        ],
    ),
    (
        "ja",
        [
            "注文No.;氏名;住所1;市区町村;〒;国;品名;数量;単価;日付;メール;送料",
            "オーダーNo;宛名;番地;市町村;郵便番号;国名;商品;個数;価格;注文日;Eメール;配送料",
            "注文ID;お届け先;町名・番地;都市;〒番号;国;商品名;数;単価(税込);購入日;メールアドレス;郵送料",
            "受注No.;お客様名;番地;市区郡;郵便番号;国;品目;枚数;値段;受注日;E-mail;発送料",
            "売上番号;受取人氏名;住所1;市;郵便番号;国・地域;アイテム;点数;販売単価;販売日;mail;送料(円)",
            "取引番号;送り先;送り先住所;送り先市区町村;送り先郵便番号;送り先国;製品名;ご注文数;単価（円）;取引日;メアド;運賃",
            "伝票番号;届け先氏名;届け先住所;届け先市区町村;届け先〒;届け先国;内容;注文数量;1個の価格;注文年月日;メール;配送費",
            "注文;購入者名;町名番地;市区町村;郵便番号;国;バッジ;本数;売価;年月日;連絡先メール;郵便料金",
            "ご注文No;配送先氏名;配送先住所;配送先市区町村;配送先郵便番号;配送先国;ご注文商品;ご注文個数;商品単価;ご注文日時;ご連絡先メールアドレス;送料込",
            "管理番号;名前;番地;市区町村;郵便番号;国;作品名;購入数量;一個あたり価格;日時;電子メール;発送費",
        ],
    ),
];

#[test]
fn ten_more_rows_of_each_language_are_read() {
    let mut unread: Vec<String> = Vec::new();
    for (language, rows) in ROWS {
        for row in rows {
            let theirs: Vec<&str> = row.split(';').collect();
            assert_eq!(theirs.len(), FIELDS.len(), "{row}");
            match read_with(book(row).as_bytes(), &[]) {
                Ok(reading) => {
                    let wrong = FIELDS
                        .into_iter()
                        .zip(&theirs)
                        .filter(|(field, theirs)| header(&reading, *field) != Some(**theirs));
                    unread.extend(wrong.map(|(field, theirs)| format!("{language} {field:?} {theirs}")));
                    if orders(&reading).len() != 2 || reading.rows.taken != 3 {
                        unread.push(format!("{language} rows of {row}"));
                    }
                }
                Err(ReadError::Waiting(waiting)) => unread.push(format!("{language} {row}: {}", waiting.why)),
                Err(ReadError::Unreadable(refused)) => unread.push(format!("{language} {row}: {}", refused.reason)),
            }
        }
    }
    assert!(unread.is_empty(), "{}", unread.join("\n"));
}
