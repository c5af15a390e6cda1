//! `[mail]` of `dawnpack.toml`: to whom the morning email goes, and by which way.

use std::path::Path;

use super::seller::email;
use super::{optional, or};
use crate::home::fault::Fault;
use crate::home::keys::{Item, Table, one_of};
use crate::home::{MailRules, SmtpRules, SmtpSecurity, TransportRules};
use crate::model::rules::Seller;

/// The section's rules; without it, mail goes into a folder, to the seller.
pub(super) fn read(
    root: &Path,
    section: Option<&Table<'_>>,
    seller: Option<&Seller>,
    faults: &mut Vec<Fault>,
) -> Option<MailRules> {
    if let Some(section) = section {
        section.only(&["transport", "to", "smtp"], faults);
    }
    let to = match section.and_then(|section| section.get("to")) {
        Some(item) => recipients(&item, faults),
        None => seller.map(|seller| vec![seller.email.clone()]),
    };
    let smtp = section.and_then(|section| section.get("smtp")).map(|item| {
        let section = item.table(faults)?;
        smtp(root, &section, faults)
    });
    let by_smtp = or(section, "transport", false, |item| match item.text(faults)? {
        "folder" => Some(false),
        "smtp" => Some(true),
        _ => {
            faults.push(item.fault(one_of(&["folder", "smtp"])));
            None
        }
    });
    let transport = match (by_smtp?, smtp) {
        (false, None | Some(Some(_))) => Some(TransportRules::Folder),
        (true, Some(Some(rules))) => Some(TransportRules::Smtp(rules)),
        (true, None) => {
            let mend = "is missing; `transport = \"smtp\"` needs a section [mail.smtp] with `host`";
            faults.extend(section.map(|section| section.fault("smtp", mend)));
            None
        }
        (_, Some(None)) => None,
    };
    Some(MailRules { transport: transport?, to: to? })
}

fn recipients(item: &Item<'_>, faults: &mut Vec<Fault>) -> Option<Vec<String>> {
    let items = item.list(faults)?;
    let read: Vec<Option<String>> = items.iter().map(|item| email(item, faults)).collect();
    let to: Vec<String> = read.into_iter().collect::<Option<_>>()?;
    if to.is_empty() {
        faults.push(item.fault("names nobody; the morning email needs a reader"));
        return None;
    }
    Some(to)
}

fn smtp(root: &Path, section: &Table<'_>, faults: &mut Vec<Fault>) -> Option<SmtpRules> {
    section.only(&["host", "port", "security", "user", "password_file", "ca_file"], faults);
    let host = section.must("host", "write the mail server's name", faults).and_then(|item| item.text(faults));
    let some = Some(section);
    let words = ["tls", "starttls", "none"];
    let security = or(some, "security", SmtpSecurity::Tls, |item| item.word(&words, faults));
    // RFC 8314, section 3.3 (465 for TLS), RFC 6409, section 3.1 (587), RFC 5321, section 4.5.4.2 (25).
    let usual = match security {
        Some(SmtpSecurity::Tls) | None => 465,
        Some(SmtpSecurity::StartTls) => 587,
        Some(SmtpSecurity::None) => 25,
    };
    let port = or(some, "port", usual, |item| {
        let port = u16::try_from(item.whole(faults)?).ok().filter(|port| *port > 0);
        if port.is_none() {
            faults.push(item.fault("is no port; write a number from 1 to 65535"));
        }
        port
    });
    let user = optional(section.get("user").map(|item| item.text(faults)));
    // Both files are opened when mail is sent: a credential only exists within the service.
    let password_file = optional(section.get("password_file").map(|item| item.text(faults).map(str::to_owned)));
    let ca_file = optional(section.get("ca_file").map(|item| item.text(faults).map(|file| root.join(file))));
    if let (Some(Some(_)), Some(None)) = (user, &password_file) {
        faults.push(section.fault("password_file", "is missing; with `user`, write the file that holds the password"));
        return None;
    }
    Some(SmtpRules {
        host: host?.to_owned(),
        port: port?,
        security: security?,
        user: user?.map(str::to_owned),
        password_file: password_file?,
        ca_file: ca_file?,
    })
}
