//! The SMTP transport: one conversation a message, over lettre.
//!
//! Promises TLS where it is asked for, with the server's certificate verified, or no conversation at all; and errors
//! sorted by what comes next, in words that name the key of `dawnpack.toml` to look at. Turned down: keeping a
//! connection open between messages, which are a few a day.

use std::error::Error as _;
use std::fs;
use std::io::{self, ErrorKind};
use std::net::IpAddr;

use lettre::transport::smtp::Error;
use lettre::transport::smtp::authentication::Credentials;
use lettre::transport::smtp::client::{Certificate, Tls, TlsParameters};
use lettre::{SmtpTransport, Transport as _};
use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject as _;

use crate::model::text::one_line;

use super::deliver::{DeliverError, Envelope, Security, Smtp};

/// A server's words are shown up to this many characters.
const SAID: usize = 300;

pub(super) fn send(server: &Smtp, envelope: &Envelope, message: &[u8]) -> Result<String, DeliverError> {
    let envelope = checked(envelope)?;
    // lettre ends the data with a line break of its own (RFC 5321, section 4.1.1.4).
    let message = message.strip_suffix(b"\r\n").unwrap_or(message);
    let response = client(server)?.send_raw(&envelope, message).map_err(|error| sorted(server, &error))?;
    Ok(brief(&response.message().collect::<Vec<_>>().join(" ")))
}

pub(super) fn probe(server: &Smtp) -> Result<String, DeliverError> {
    match client(server)?.test_connection() {
        Ok(true) => {
            let login = if server.user.is_some() { " and takes the login" } else { "" };
            Ok(format!("the mail server `{}:{}` answers{login}", server.host, server.port))
        }
        Ok(false) => Err(DeliverError::Transient(told(server, "broke off"))),
        Err(error) => Err(sorted(server, &error)),
    }
}

fn checked(envelope: &Envelope) -> Result<lettre::address::Envelope, DeliverError> {
    let address = |text: &String| {
        text.parse::<lettre::Address>()
            .map_err(|error| DeliverError::Permanent(format!("`{text}` is not an email address: {error}")))
    };
    let to = envelope.to.iter().map(address).collect::<Result<_, _>>()?;
    lettre::address::Envelope::new(Some(address(&envelope.from)?), to)
        .map_err(|error| DeliverError::Permanent(format!("the message has no recipient: {error}")))
}

fn client(server: &Smtp) -> Result<SmtpTransport, DeliverError> {
    let tls = match server.security {
        Security::Tls => Tls::Wrapper(tls(server)?),
        Security::StartTls => Tls::Required(tls(server)?),
        Security::None => Tls::None,
    };
    // Dangerous in that it has no TLS of itself: the line above sees to that.
    let mut client =
        SmtpTransport::builder_dangerous(&server.host).port(server.port).tls(tls).timeout(Some(server.timeout));
    if let Some(credentials) = credentials(server)? {
        client = client.credentials(credentials);
    }
    Ok(client.build())
}

fn credentials(server: &Smtp) -> Result<Option<Credentials>, DeliverError> {
    let wrong = |why: &str| DeliverError::Permanent(format!("under [mail.smtp], {why}"));
    match (&server.user, &server.password) {
        (Some(_), Some(_)) if server.security == Security::None && !is_this_machine(&server.host) => Err(wrong(
            "security = \"none\" would send the password in the clear; write \"tls\" or \"starttls\", or leave `user` out",
        )),
        (Some(user), Some(password)) => Ok(Some(Credentials::new(user.clone(), password.reveal().to_owned()))),
        (Some(_), None) => Err(wrong("`user` stands without `password_file`; write both or neither")),
        (None, Some(_)) => Err(wrong("`password_file` stands without `user`; write both or neither")),
        (None, None) => Ok(None),
    }
}

fn is_this_machine(host: &str) -> bool {
    host.eq_ignore_ascii_case("localhost") || host.parse::<IpAddr>().is_ok_and(|ip| ip.is_loopback())
}

fn tls(server: &Smtp) -> Result<TlsParameters, DeliverError> {
    let mut tls = TlsParameters::builder(server.host.clone());
    if let Some(path) = &server.ca_file {
        let wrong = |why: String| DeliverError::Permanent(format!("`ca_file` `{}`: {why}", path.display()));
        let pem = fs::read(path).map_err(|error| wrong(format!("can't be read: {error}")))?;
        let certificates = CertificateDer::pem_slice_iter(&pem)
            .collect::<Result<Vec<_>, _>>()
            .map_err(|error| wrong(format!("is not PEM: {error}")))?;
        if certificates.is_empty() {
            return Err(wrong("holds no certificate; it has to be a PEM file with BEGIN CERTIFICATE in it".to_owned()));
        }
        for certificate in certificates {
            let certificate = Certificate::from_der(certificate.to_vec()).map_err(|error| wrong(error.to_string()))?;
            tls = tls.add_root_certificate(certificate);
        }
    }
    tls.build().map_err(|error| DeliverError::Permanent(told(server, &format!("can't be spoken to by TLS: {error}"))))
}

/// RFC 5321, section 4.2.1: a 5xx answer is permanent, a 4xx one transient. What never got an answer is transient
/// too, but for TLS that doesn't come about: that is a wrong name, port or authority, and the next try finds the same.
fn sorted(server: &Smtp, error: &Error) -> DeliverError {
    let said = error.source().map_or_else(|| error.to_string(), |source| brief(&source.to_string()));
    if let Some(code) = error.status() {
        let code = u16::from(code);
        return if !error.is_permanent() {
            DeliverError::Transient(told(server, &format!("puts it off: {code} {said}")))
        } else if is_about_login(code) {
            let user = server.user.as_deref().unwrap_or_default();
            let why =
                format!("refuses the login of `{user}`: {code} {said}; check `user` and what `password_file` names");
            DeliverError::Permanent(told(server, &why))
        } else {
            let why = format!("refuses the message: {code} {said}; check the addresses in dawnpack.toml");
            DeliverError::Permanent(told(server, &why))
        };
    }
    if error.is_client() || error.is_tls() {
        let why = format!("can't be used as dawnpack.toml says: {said}; check `security`, `port` and `user`");
        return DeliverError::Permanent(told(server, &why));
    }
    let io = io_error(error);
    if let Some(tls) = io.and_then(io::Error::get_ref).and_then(|inner| inner.downcast_ref::<rustls::Error>()) {
        let why = if matches!(tls, rustls::Error::InvalidCertificate(_)) {
            format!("can't prove who it is: {tls}; check `host`, or name its authority's certificate as `ca_file`")
        } else {
            format!("does not speak TLS with us: {tls}; check `port` and `security`")
        };
        return DeliverError::Permanent(told(server, &why));
    }
    DeliverError::Transient(match io.map(io::Error::kind) {
        // A socket that waits in vain says the one or the other, by the system.
        Some(ErrorKind::WouldBlock | ErrorKind::TimedOut) => {
            told(server, &format!("does not answer within {} s", server.timeout.as_secs_f32()))
        }
        _ => told(server, &format!("can't be reached: {said}")),
    })
}

/// RFC 4954, section 6: mechanism or credentials; 530 asks for a login where there was none.
const fn is_about_login(code: u16) -> bool {
    matches!(code, 530 | 534 | 535 | 538)
}

fn told(server: &Smtp, what: &str) -> String {
    format!("the mail server `{}:{}` {what}", server.host, server.port)
}

fn io_error(error: &Error) -> Option<&io::Error> {
    let mut cause = error.source();
    while let Some(inner) = cause {
        if let Some(io) = inner.downcast_ref() {
            return Some(io);
        }
        cause = inner.source();
    }
    None
}

fn brief(text: &str) -> String {
    let line = one_line(text);
    match line.char_indices().nth(SAID) {
        Some((cut, _)) => format!("{}…", line.split_at(cut).0),
        None => line,
    }
}

#[cfg(test)]
mod tests;
