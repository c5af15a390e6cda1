//! Conversations with a server on this machine: another crate's SMTP state machine (mailin), and TLS with
//! certificates made for the test.

use std::io::{self, Read, Write};
use std::net::{IpAddr, Ipv4Addr, TcpListener, TcpStream};
use std::path::PathBuf;
use std::sync::{Arc, Mutex};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

use mailin::response::{INVALID_CREDENTIALS, NO_MAILBOX, OK};
use mailin::{Action, AuthMechanism, Handler, Response, Session, SessionBuilder};
use rcgen::{BasicConstraints, CertificateParams, CertifiedIssuer, IsCa, KeyPair};
use rustls::pki_types::PrivatePkcs8KeyDer;
use rustls::{ServerConfig, ServerConnection, StreamOwned};

use super::super::deliver::{Delivered, Transport, deliver, test_connection};
use super::super::password::read_password;
use super::*;

/// What a server was told.
#[derive(Default, Debug)]
struct Heard {
    /// Commands in the clear, then those under TLS.
    clear: Vec<String>,
    guarded: Vec<String>,
    to: Vec<String>,
    data: Vec<u8>,
}

#[derive(Clone)]
struct Desk {
    rcpt: Response,
    login: bool,
    heard: Arc<Mutex<Heard>>,
}

impl Handler for Desk {
    fn rcpt(&mut self, to: &str) -> Response {
        self.heard.lock().unwrap().to.push(to.to_owned());
        self.rcpt.clone()
    }

    fn data(&mut self, octets: &[u8]) -> io::Result<()> {
        self.heard.lock().unwrap().data.extend_from_slice(octets);
        Ok(())
    }

    fn auth_plain(&mut self, _: &str, user: &str, password: &str) -> Response {
        if (user, password) == ("owner", "gull egg") { OK } else { INVALID_CREDENTIALS }
    }
}

/// Talks until the client goes or TLS is to start. Octet by octet, since what follows STARTTLS is TLS's own.
fn talk(session: &mut Session<Desk>, stream: &mut (impl Read + Write), heard: &mut Vec<String>) -> io::Result<Action> {
    loop {
        let mut line = Vec::new();
        while !line.ends_with(b"\n") {
            let mut octet = [0];
            stream.read_exact(&mut octet)?;
            line.extend(octet);
        }
        let response = session.process(&line);
        heard.push(String::from_utf8_lossy(&line).trim_end().to_owned());
        if response.action != Action::NoReply {
            response.write_to(stream)?;
            stream.flush()?;
        }
        if matches!(response.action, Action::Close | Action::UpgradeTls) {
            return Ok(response.action);
        }
    }
}

/// A server for one conversation.
struct Server {
    port: u16,
    talk: JoinHandle<()>,
    heard: Arc<Mutex<Heard>>,
}

impl Server {
    /// In the clear, without a login, answering every recipient with this.
    fn open(rcpt: Response) -> Self {
        Self::start(Security::None, None, rcpt, false)
    }

    /// One that asks for a login.
    fn guarded(security: Security, tls: Option<&Trust>) -> Self {
        Self::start(security, tls.map(|trust| Arc::clone(&trust.server)), OK, true)
    }

    fn start(security: Security, tls: Option<Arc<ServerConfig>>, rcpt: Response, login: bool) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let port = listener.local_addr().unwrap().port();
        let heard = Arc::<Mutex<Heard>>::default();
        let desk = Desk { rcpt, login, heard: Arc::clone(&heard) };
        let thread = thread::spawn(move || {
            let (stream, _) = listener.accept().unwrap();
            // The client may break off at any time; what was heard till then counts.
            let _broken_off = converse(stream, security, tls, &desk);
        });
        Self { port, talk: thread, heard }
    }

    fn heard(self) -> Heard {
        self.talk.join().unwrap();
        std::mem::take(&mut self.heard.lock().unwrap())
    }
}

fn converse(mut stream: TcpStream, security: Security, tls: Option<Arc<ServerConfig>>, desk: &Desk) -> io::Result<()> {
    let mut builder = SessionBuilder::new("localhost");
    if desk.login {
        builder.enable_auth(AuthMechanism::Plain);
    }
    match security {
        Security::StartTls => _ = builder.enable_start_tls(),
        Security::None => _ = builder.insecure_enable_plaintext_auth(),
        Security::Tls => {}
    }
    let mut session = builder.build(IpAddr::V4(Ipv4Addr::LOCALHOST), desk.clone());
    let (mut clear, mut guarded) = (Vec::new(), Vec::new());
    let mut outcome = Ok(Action::UpgradeTls);
    if security != Security::Tls {
        session.greeting().write_to(&mut stream)?;
        outcome = talk(&mut session, &mut stream, &mut clear);
    }
    if let (Ok(Action::UpgradeTls), Some(config)) = (&outcome, tls) {
        session.tls_active();
        let mut stream = StreamOwned::new(ServerConnection::new(config).unwrap(), stream);
        if security == Security::Tls {
            session.greeting().write_to(&mut stream)?;
        }
        outcome = talk(&mut session, &mut stream, &mut guarded);
    }
    let mut heard = desk.heard.lock().unwrap();
    (heard.clear, heard.guarded) = (clear, guarded);
    outcome.map(|_| ())
}

/// An authority of the test's own, and a server certificate of it for `localhost`.
struct Trust {
    dir: tempfile::TempDir,
    server: Arc<ServerConfig>,
}

impl Trust {
    fn new() -> Self {
        let mut params = CertificateParams::default();
        params.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
        let authority = CertifiedIssuer::self_signed(params, KeyPair::generate().unwrap()).unwrap();
        let key = KeyPair::generate().unwrap();
        let leaf = CertificateParams::new(["localhost".to_owned()]).unwrap().signed_by(&key, &authority).unwrap();
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let server = ServerConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()
            .unwrap()
            .with_no_client_auth()
            .with_single_cert(vec![leaf.der().clone()], PrivatePkcs8KeyDer::from(key.serialize_der()).into())
            .unwrap();
        let dir = tempfile::tempdir().unwrap();
        fs::write(dir.path().join("ca.pem"), authority.pem()).unwrap();
        Self { dir, server: Arc::new(server) }
    }

    fn ca_file(&self) -> PathBuf {
        self.dir.path().join("ca.pem")
    }
}

fn plain(port: u16) -> Smtp {
    Smtp {
        host: "localhost".into(),
        port,
        security: Security::None,
        user: None,
        password: None,
        timeout: Duration::from_secs(5),
        ca_file: None,
    }
}

fn with_login(server: Smtp, secret: &str) -> Smtp {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join("smtp-password"), secret).unwrap();
    let password = read_password("smtp-password".as_ref(), Some(dir.path())).unwrap();
    Smtp { user: Some("owner".into()), password: Some(password), ..server }
}

fn try_deliver(server: &Smtp, message: &[u8]) -> Result<Delivered, DeliverError> {
    let to = vec!["owner@example.org".to_owned(), "helper@example.org".to_owned()];
    let envelope = Envelope { from: "owner@example.org".into(), to };
    deliver(&Transport::Smtp(server.clone()), "a@example.org", &envelope, message)
}

fn transient(result: Result<impl std::fmt::Debug, DeliverError>) -> String {
    match result.unwrap_err() {
        DeliverError::Transient(said) => said,
        DeliverError::Permanent(said) => panic!("permanent: {said}"),
    }
}

fn permanent(result: Result<impl std::fmt::Debug, DeliverError>) -> String {
    match result.unwrap_err() {
        DeliverError::Permanent(said) => said,
        DeliverError::Transient(said) => panic!("transient: {said}"),
    }
}

/// A server that says just this, then keeps the line open.
fn curt(greeting: &'static [u8]) -> u16 {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = listener.local_addr().unwrap().port();
    thread::spawn(move || {
        let (mut stream, _) = listener.accept().unwrap();
        stream.write_all(greeting).unwrap();
        let _gone = io::copy(&mut stream, &mut io::sink());
    });
    port
}

const MESSAGE: &[u8] = b"Subject: gulls\r\n\r\n.\r\n..dots\r\nline\r\n";

#[test]
fn a_message_arrives_byte_for_byte_at_every_recipient() {
    let server = Server::open(OK);
    let delivered = try_deliver(&plain(server.port), MESSAGE).unwrap();
    assert_eq!(delivered, Delivered::Server("OK".into()));
    let heard = server.heard();
    assert_eq!(heard.data, MESSAGE);
    assert_eq!(heard.to, ["owner@example.org", "helper@example.org"]);
}

/// RFC 5321, section 4.2.1.
#[test]
fn a_refusal_for_now_and_one_for_good_are_told_apart() {
    let server = Server::open(Response::custom(451, "mailbox busy\u{1b}[31m".into()));
    let said = transient(try_deliver(&plain(server.port), MESSAGE));
    assert!(said.contains("puts it off: 451 mailbox busy") && !said.contains(char::is_control), "{said}");
    assert_eq!(server.heard().data, b"");
    let server = Server::open(NO_MAILBOX);
    let said = permanent(try_deliver(&plain(server.port), MESSAGE));
    assert!(said.contains("refuses the message: 550 Mailbox unavailable; check the addresses"), "{said}");
    assert_eq!(server.heard().data, b"");
    let said = transient(try_deliver(&plain(curt(b"421 closing down\r\n")), MESSAGE));
    assert!(said.contains("421 closing down"), "{said}");
}

#[test]
fn long_answers_are_cut() {
    let text = format!("{} end", "gull ".repeat(90));
    let server = Server::open(Response::custom(550, text));
    let said = permanent(try_deliver(&plain(server.port), MESSAGE));
    assert!(said.len() < 450 && said.contains('…') && !said.contains("end"), "{said}");
}

#[test]
fn what_never_answers_is_tried_again() {
    let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
    let said = transient(try_deliver(&plain(port), MESSAGE));
    assert!(said.contains(&format!("`localhost:{port}` can't be reached")) && said.contains("refused"), "{said}");
    let silent = Smtp { timeout: Duration::from_millis(200), ..plain(curt(b"")) };
    let began = Instant::now();
    let said = transient(try_deliver(&silent, MESSAGE));
    assert!(said.contains("does not answer within 0.2 s"), "{said}");
    assert!(began.elapsed() < Duration::from_secs(5));
    let said = transient(try_deliver(&plain(curt(b"gulls\r\n")), MESSAGE));
    assert!(said.contains("can't be reached"), "{said}");
}

#[test]
fn tls_is_spoken_from_the_first_octet_and_the_login_is_inside() {
    let trust = Trust::new();
    let server = Server::guarded(Security::Tls, Some(&trust));
    let client = Smtp { security: Security::Tls, ca_file: Some(trust.ca_file()), ..plain(server.port) };
    try_deliver(&with_login(client, "gull egg\n"), MESSAGE).unwrap();
    let heard = server.heard();
    assert_eq!((heard.clear.len(), heard.data.as_slice()), (0, MESSAGE));
    assert!(heard.guarded.iter().any(|line| line.starts_with("AUTH PLAIN ")), "{heard:?}");
}

#[test]
fn starttls_comes_before_the_login_and_the_message() {
    let trust = Trust::new();
    let server = Server::guarded(Security::StartTls, Some(&trust));
    let client = Smtp { security: Security::StartTls, ca_file: Some(trust.ca_file()), ..plain(server.port) };
    try_deliver(&with_login(client, "gull egg"), MESSAGE).unwrap();
    let heard = server.heard();
    assert_eq!(heard.clear.iter().map(|line| line.get(..4).unwrap()).collect::<Vec<_>>(), ["EHLO", "STAR"]);
    assert!(heard.guarded.iter().any(|line| line.starts_with("AUTH PLAIN ")), "{heard:?}");
    assert_eq!(heard.data, MESSAGE);
}

#[test]
fn without_starttls_nothing_is_sent_in_the_clear() {
    let server = Server::guarded(Security::None, None);
    let client = Smtp { security: Security::StartTls, ..plain(server.port) };
    let said = permanent(try_deliver(&with_login(client, "gull egg"), MESSAGE));
    assert!(said.contains("STARTTLS is not supported") && said.contains("check `security`"), "{said}");
    let heard = server.heard();
    assert!(heard.clear.iter().all(|line| line.starts_with("EHLO") || line == "QUIT"), "{heard:?}");
}

#[test]
fn a_certificate_that_does_not_hold_ends_the_conversation() {
    let trust = Trust::new();
    for security in [Security::Tls, Security::StartTls] {
        for (host, ca_file, why) in
            [("localhost", None, "UnknownIssuer"), ("127.0.0.1", Some(trust.ca_file()), "not valid for name")]
        {
            let server = Server::guarded(security, Some(&trust));
            let client = Smtp { host: host.into(), security, ca_file, ..plain(server.port) };
            let said = permanent(try_deliver(&with_login(client, "gull egg"), MESSAGE));
            assert!(said.contains("can't prove who it is") && said.contains(why), "{said}");
            let heard = server.heard();
            assert!(heard.data.is_empty() && heard.guarded.is_empty(), "{heard:?}");
        }
    }
}

#[test]
fn a_server_without_tls_on_the_tls_port_needs_the_seller() {
    let said = permanent(try_deliver(&Smtp { security: Security::Tls, ..plain(curt(b"220 hello\r\n")) }, MESSAGE));
    assert!(said.contains("does not speak TLS") && said.contains("check `port` and `security`"), "{said}");
}

#[test]
fn a_ca_file_that_holds_no_certificate_is_named() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("ca.pem");
    let server = Smtp { security: Security::Tls, ca_file: Some(path.clone()), ..plain(1) };
    assert!(permanent(try_deliver(&server, MESSAGE)).contains("can't be read"));
    fs::write(&path, "gull").unwrap();
    let said = permanent(try_deliver(&server, MESSAGE));
    assert!(said.contains("ca.pem") && said.contains("holds no certificate"), "{said}");
}

#[test]
fn a_wrong_password_needs_the_seller_and_is_not_told() {
    let server = Server::guarded(Security::None, None);
    let said = permanent(try_deliver(&with_login(plain(server.port), "tern egg"), MESSAGE));
    assert!(said.contains("refuses the login of `owner`: 535 Invalid credentials; check `user`"), "{said}");
    assert!(!said.contains("tern"), "{said}");
    assert_eq!(server.heard().data, b"");
}

#[test]
fn half_a_login_or_one_in_the_clear_is_not_tried() {
    let login = with_login(plain(1), "gull egg");
    let said = permanent(try_deliver(&Smtp { password: None, ..login.clone() }, MESSAGE));
    assert!(said.contains("`user` stands without `password_file`"), "{said}");
    let said = permanent(try_deliver(&Smtp { user: None, ..login.clone() }, MESSAGE));
    assert!(said.contains("`password_file` stands without `user`"), "{said}");
    let said = permanent(try_deliver(&Smtp { host: "mail.example.org".into(), ..login }, MESSAGE));
    assert!(said.contains("in the clear"), "{said}");
}

#[test]
fn trying_the_connection_logs_in_and_sends_nothing() {
    let server = Server::guarded(Security::None, None);
    let login = with_login(plain(server.port), "gull egg");
    let said = test_connection(&Transport::Smtp(login)).unwrap();
    assert_eq!(said, format!("the mail server `localhost:{}` answers and takes the login", server.port));
    let heard = server.heard();
    assert!(heard.to.is_empty() && heard.data.is_empty(), "{heard:?}");
    let server = Server::guarded(Security::None, None);
    let login = with_login(plain(server.port), "tern egg");
    assert!(permanent(test_connection(&Transport::Smtp(login))).contains("535"));
    server.heard();
}

#[test]
fn no_one_to_send_to_needs_the_seller() {
    for to in [vec![], vec!["nobody".to_owned()]] {
        let envelope = Envelope { from: "owner@example.org".into(), to };
        permanent(deliver(&Transport::Smtp(plain(1)), "a@example.org", &envelope, MESSAGE));
    }
}
