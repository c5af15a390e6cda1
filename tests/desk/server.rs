//! A mail server on this machine for the real program: another crate's SMTP state machine (mailin), which takes or
//! refuses what a test says, and may be slow.

use std::io::{self, Read as _, Write as _};
use std::net::{IpAddr, Ipv4Addr, TcpListener, TcpStream};
use std::sync::{Arc, Condvar, Mutex};
use std::thread;

use mailin::response::{INVALID_CREDENTIALS, NO_MAILBOX, OK};
use mailin::{Action, AuthMechanism, Handler, Response, SessionBuilder};

/// What it does with a message.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Manner {
    /// Takes it.
    Takes,
    /// Knows no recipient but this.
    Knows(&'static str),
    /// Asks for a login, and knows nobody.
    RefusesLogin,
}

/// Runs until the test's process ends.
pub(crate) struct Server {
    pub(crate) port: u16,
    heard: Arc<Mutex<Vec<Vec<u8>>>>,
    open: Arc<(Mutex<bool>, Condvar)>,
}

#[derive(Clone)]
struct Clerk {
    manner: Manner,
    heard: Arc<Mutex<Vec<Vec<u8>>>>,
    message: Vec<u8>,
}

impl Handler for Clerk {
    fn rcpt(&mut self, to: &str) -> Response {
        match self.manner {
            Manner::Knows(known) if known != to => NO_MAILBOX,
            Manner::Takes | Manner::Knows(_) | Manner::RefusesLogin => OK,
        }
    }

    fn data(&mut self, octets: &[u8]) -> io::Result<()> {
        self.message.extend_from_slice(octets);
        Ok(())
    }

    fn data_end(&mut self) -> Response {
        self.heard.lock().unwrap().push(std::mem::take(&mut self.message));
        OK
    }

    fn auth_plain(&mut self, _: &str, _: &str, _: &str) -> Response {
        INVALID_CREDENTIALS
    }
}

impl Server {
    pub(crate) fn start(manner: Manner) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let port = listener.local_addr().unwrap().port();
        let heard = Arc::<Mutex<Vec<Vec<u8>>>>::default();
        let open = Arc::new((Mutex::new(true), Condvar::new()));
        let clerk = Clerk { manner, heard: Arc::clone(&heard), message: Vec::new() };
        let gate = Arc::clone(&open);
        thread::spawn(move || {
            for stream in listener.incoming().flatten() {
                let (clerk, gate) = (clerk.clone(), Arc::clone(&gate));
                thread::spawn(move || {
                    let shut = gate.1.wait_while(gate.0.lock().unwrap(), |open| !*open).unwrap();
                    drop(shut);
                    // The client may break off at any time.
                    let _broken_off = converse(stream, clerk);
                });
            }
        });
        Self { port, heard, open }
    }

    /// Lets callers wait without an answer, or answers them all.
    pub(crate) fn answers(&self, answers: bool) {
        *self.open.0.lock().unwrap() = answers;
        self.open.1.notify_all();
    }

    /// Messages taken so far.
    pub(crate) fn heard(&self) -> usize {
        self.heard.lock().unwrap().len()
    }

    /// The last of them.
    pub(crate) fn last(&self) -> Vec<u8> {
        self.heard.lock().unwrap().last().unwrap().clone()
    }

    /// What `[mail]` in `dawnpack.toml` has to say for it.
    pub(crate) fn rules(&self, more: &str) -> String {
        let port = self.port;
        format!("transport = \"smtp\"\nsmtp = {{ host = \"127.0.0.1\", port = {port}, security = \"none\"{more} }}")
    }
}

fn converse(mut stream: TcpStream, clerk: Clerk) -> io::Result<()> {
    let mut builder = SessionBuilder::new("localhost");
    if clerk.manner == Manner::RefusesLogin {
        builder.enable_auth(AuthMechanism::Plain);
    }
    builder.insecure_enable_plaintext_auth();
    let mut session = builder.build(IpAddr::V4(Ipv4Addr::LOCALHOST), clerk);
    session.greeting().write_to(&mut stream)?;
    loop {
        let mut line = Vec::new();
        while !line.ends_with(b"\n") {
            let mut octet = [0];
            stream.read_exact(&mut octet)?;
            line.extend(octet);
        }
        let response = session.process(&line);
        if response.action != Action::NoReply {
            response.write_to(&mut stream)?;
            stream.flush()?;
        }
        if matches!(response.action, Action::Close | Action::UpgradeTls) {
            return Ok(());
        }
    }
}
