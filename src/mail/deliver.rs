//! Delivering a composed message.
//!
//! Errors go by what comes next: a transient one is tried again in a while, a permanent one needs the seller. TLS
//! is never opportunistic: a server that doesn't offer what the home asks for is not spoken to.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::time::Duration;

use lettre::transport::smtp::authentication::Credentials;
use lettre::transport::smtp::client::{Certificate, Tls, TlsParameters};
use lettre::{SmtpTransport, Transport as _};

use super::password::Password;

/// Where messages go.
#[derive(Clone, Debug)]
pub enum Transport {
    /// Each as an `.eml` file in this directory.
    Folder(PathBuf),
    /// To a mail server.
    Smtp(Smtp),
}

/// A mail server.
#[derive(Clone, Debug)]
pub struct Smtp {
    /// Host name, as its certificate has it.
    pub host: String,
    /// Port.
    pub port: u16,
    /// How the connection is guarded.
    pub security: Security,
    /// Login name.
    pub user: Option<String>,
    /// Login secret.
    pub password: Option<Password>,
    /// For each step of the conversation.
    pub timeout: Duration,
    /// A certificate authority of one's own, PEM, besides the public ones.
    pub ca_file: Option<PathBuf>,
}

/// How a connection is guarded.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Security {
    /// TLS from the first byte (RFC 8314).
    Tls,
    /// TLS after STARTTLS (RFC 3207), required.
    StartTls,
    /// None: for a server on the same machine.
    None,
}

/// Sender and recipients of the envelope.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Envelope {
    /// Sender.
    pub from: String,
    /// Recipients.
    pub to: Vec<String>,
}

/// Where a message went.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Delivered {
    /// Into this file.
    File(PathBuf),
    /// To the server, which answered this.
    Server(String),
}

/// Why a message is not gone, by what comes next.
#[derive(Debug, thiserror::Error)]
pub enum DeliverError {
    /// Try again later.
    #[error("{0}")]
    Transient(String),
    /// The seller has to mend something.
    #[error("{0}")]
    Permanent(String),
}

/// Delivers a message. Delivered again to a folder, it is the same file again; to a server, the same message
/// with the same Message-ID.
///
/// # Errors
/// [`DeliverError`].
pub fn deliver(
    transport: &Transport,
    message_id: &str,
    envelope: &Envelope,
    message: &[u8],
) -> Result<Delivered, DeliverError> {
    match transport {
        Transport::Folder(dir) => into_folder(dir, message_id, message)
            .map(Delivered::File)
            .map_err(|error| DeliverError::Transient(format!("`{}` can't be written: {error}", dir.display()))),
        Transport::Smtp(smtp) => {
            let envelope = smtp_envelope(envelope)?;
            let response = client(smtp)?.send_raw(&envelope, message).map_err(|error| sorted(smtp, &error))?;
            Ok(Delivered::Server(response.message().collect::<Vec<_>>().join(" ")))
        }
    }
}

/// Tries the way without sending anything: writes and removes a file, or connects and logs in.
///
/// # Errors
/// [`DeliverError`].
pub fn test_connection(transport: &Transport) -> Result<String, DeliverError> {
    match transport {
        Transport::Folder(dir) => fs::create_dir_all(dir)
            .and_then(|()| tempfile::tempfile_in(dir))
            .map(|_| format!("messages go to `{}`", dir.display()))
            .map_err(|error| DeliverError::Permanent(format!("`{}` can't be written: {error}", dir.display()))),
        Transport::Smtp(smtp) => match client(smtp)?.test_connection() {
            Ok(true) => Ok(format!("`{}:{}` answers and takes the login", smtp.host, smtp.port)),
            Ok(false) => Err(DeliverError::Transient(format!("`{}:{}` does not answer", smtp.host, smtp.port))),
            Err(error) => Err(sorted(smtp, &error)),
        },
    }
}

/// The file of a message in the folder transport: from its Message-ID, with what no file name may hold replaced.
#[must_use]
pub fn file_name(message_id: &str) -> String {
    let local = message_id.split('@').next().unwrap_or(message_id);
    let safe: String =
        local.chars().map(|c| if c.is_ascii_alphanumeric() || "-.".contains(c) { c } else { '-' }).collect();
    format!("{}.eml", safe.trim_start_matches('.'))
}

fn into_folder(dir: &Path, message_id: &str, message: &[u8]) -> io::Result<PathBuf> {
    fs::create_dir_all(dir)?;
    let path = dir.join(file_name(message_id));
    let mut file = tempfile::Builder::new().prefix(".part-").tempfile_in(dir)?;
    file.write_all(message)?;
    file.as_file().sync_all()?;
    file.persist(&path).map_err(|error| error.error)?;
    fs::File::open(dir)?.sync_all()?;
    Ok(path)
}

fn smtp_envelope(envelope: &Envelope) -> Result<lettre::address::Envelope, DeliverError> {
    let address = |text: &String| {
        text.parse::<lettre::Address>()
            .map_err(|error| DeliverError::Permanent(format!("`{text}` is not an email address: {error}")))
    };
    let to = envelope.to.iter().map(address).collect::<Result<_, _>>()?;
    lettre::address::Envelope::new(Some(address(&envelope.from)?), to)
        .map_err(|error| DeliverError::Permanent(format!("the message has no recipient: {error}")))
}

fn client(smtp: &Smtp) -> Result<SmtpTransport, DeliverError> {
    let tls = || -> Result<TlsParameters, DeliverError> {
        let mut tls = TlsParameters::builder(smtp.host.clone());
        if let Some(path) = &smtp.ca_file {
            let wrong = |why: String| DeliverError::Permanent(format!("`ca_file` `{}`: {why}", path.display()));
            let pem = fs::read(path).map_err(|error| wrong(error.to_string()))?;
            tls = tls.add_root_certificate(Certificate::from_pem(&pem).map_err(|error| wrong(error.to_string()))?);
        }
        tls.build().map_err(|error| DeliverError::Permanent(format!("TLS can't be set up: {error}")))
    };
    let tls = match smtp.security {
        Security::Tls => Tls::Wrapper(tls()?),
        Security::StartTls => Tls::Required(tls()?),
        Security::None => Tls::None,
    };
    let mut client = SmtpTransport::builder_dangerous(&smtp.host).port(smtp.port).tls(tls).timeout(Some(smtp.timeout));
    if let Some((user, password)) = smtp.user.as_ref().zip(smtp.password.as_ref()) {
        client = client.credentials(Credentials::new(user.clone(), password.reveal().to_owned()));
    }
    Ok(client.build())
}

/// RFC 5321, section 4.2.1: a 5xx answer is permanent, a 4xx one transient. What never got an answer is transient.
fn sorted(smtp: &Smtp, error: &lettre::transport::smtp::Error) -> DeliverError {
    let mut said = format!("`{}:{}`: {error}", smtp.host, smtp.port);
    let mut cause = std::error::Error::source(error);
    while let Some(inner) = cause {
        let inner_text = inner.to_string();
        if !said.contains(&inner_text) {
            said = format!("{said}: {inner_text}");
        }
        cause = inner.source();
    }
    if error.is_permanent() { DeliverError::Permanent(said) } else { DeliverError::Transient(said) }
}

#[cfg(test)]
mod tests {
    use std::io::{BufRead as _, BufReader};
    use std::net::TcpListener;
    use std::thread;

    use super::*;

    fn envelope() -> Envelope {
        Envelope { from: "owner@example.org".into(), to: vec!["owner@example.org".into()] }
    }

    fn plain(port: u16) -> Transport {
        Transport::Smtp(Smtp {
            host: "127.0.0.1".into(),
            port,
            security: Security::None,
            user: None,
            password: None,
            timeout: Duration::from_secs(5),
            ca_file: None,
        })
    }

    /// A server for one conversation, which answers RCPT as told and hands back what it was sent as data.
    fn server(rcpt: &'static str) -> (u16, thread::JoinHandle<String>) {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let port = listener.local_addr().unwrap().port();
        let talk = thread::spawn(move || {
            let (mut stream, _) = listener.accept().unwrap();
            let mut lines = BufReader::new(stream.try_clone().unwrap());
            let mut data = String::new();
            stream.write_all(b"220 test\r\n").unwrap();
            loop {
                let mut line = String::new();
                if lines.read_line(&mut line).unwrap_or(0) == 0 {
                    return data;
                }
                let answer = match line.get(..4).unwrap_or_default() {
                    "EHLO" => "250 test\r\n",
                    "RCPT" => rcpt,
                    "QUIT" => "221 bye\r\n",
                    "DATA" => {
                        stream.write_all(b"354 go\r\n").unwrap();
                        loop {
                            let mut body = String::new();
                            lines.read_line(&mut body).unwrap();
                            if body == ".\r\n" {
                                break;
                            }
                            data.push_str(&body);
                        }
                        "250 taken\r\n"
                    }
                    _ => "250 ok\r\n",
                };
                stream.write_all(answer.as_bytes()).unwrap();
            }
        });
        (port, talk)
    }

    #[test]
    fn a_message_arrives_whole_at_a_server() {
        let (port, talk) = server("250 ok\r\n");
        let message = b"Subject: gulls\r\n\r\n.dots are stuffed";
        let delivered = deliver(&plain(port), "a@example.org", &envelope(), message).unwrap();
        assert!(matches!(delivered, Delivered::Server(_)));
        // RFC 5321, section 4.5.2: a line that starts with a dot travels with two.
        assert_eq!(talk.join().unwrap(), "Subject: gulls\r\n\r\n..dots are stuffed\r\n");
    }

    #[test]
    fn a_refusal_for_now_and_one_for_good_are_told_apart() {
        let (port, _) = server("451 later\r\n");
        let later = deliver(&plain(port), "a@example.org", &envelope(), b"x").unwrap_err();
        assert!(matches!(later, DeliverError::Transient(_)), "{later}");
        let (port, _) = server("550 nobody here\r\n");
        let never = deliver(&plain(port), "a@example.org", &envelope(), b"x").unwrap_err();
        assert!(matches!(&never, DeliverError::Permanent(said) if said.contains("nobody here")), "{never}");
    }

    #[test]
    fn a_server_that_is_not_there_is_tried_again() {
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let error = deliver(&plain(port), "a@example.org", &envelope(), b"x").unwrap_err();
        assert!(matches!(error, DeliverError::Transient(_)), "{error}");
    }

    #[test]
    fn without_starttls_nothing_is_sent_in_the_clear() {
        let (port, talk) = server("250 ok\r\n");
        let Transport::Smtp(smtp) = plain(port) else { unreachable!() };
        let guarded = Transport::Smtp(Smtp { security: Security::StartTls, ..smtp });
        assert!(deliver(&guarded, "a@example.org", &envelope(), b"secret").is_err());
        assert_eq!(talk.join().unwrap(), "");
    }

    #[test]
    fn delivered_twice_to_a_folder_is_one_file() {
        let dir = tempfile::tempdir().unwrap();
        let folder = Transport::Folder(dir.path().join("mail"));
        for _ in 0..2 {
            deliver(&folder, "2026-11-25.r1.x@example.org", &envelope(), b"Subject: x\r\n").unwrap();
        }
        let files: Vec<_> = fs::read_dir(dir.path().join("mail")).unwrap().map(|e| e.unwrap().file_name()).collect();
        assert_eq!(files, ["2026-11-25.r1.x.eml"]);
    }

    #[test]
    fn no_message_id_leaves_the_folder() {
        assert_eq!(file_name("../../etc/x@example.org"), "-..-etc-x.eml");
    }
}
