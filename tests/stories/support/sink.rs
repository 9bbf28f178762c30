//! A mail server that keeps what it is given, or fails as it is told to.

use roundel::smtp::Mailer;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use tokio::io::{AsyncBufReadExt, AsyncWriteExt, BufReader};
use tokio::net::{TcpListener, TcpStream};

/// How the server behaves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Mode {
    Accept,
    /// 550 to every recipient.
    Refuse,
    /// 451 to every recipient.
    Busy,
    /// Takes the connection and says nothing.
    Hang,
    /// Keeps the message, and drops the connection before it says so.
    Drop,
}

/// A message as it came.
#[derive(Clone, Debug)]
pub(crate) struct Mail {
    /// The recipients of the envelope.
    pub(crate) recipients: Vec<String>,
    /// Header lines and text, as sent.
    pub(crate) source: String,
}

impl Mail {
    /// A header, folded lines joined.
    #[track_caller]
    pub(crate) fn header(&self, name: &str) -> String {
        let (head, _) = self.source.split_once("\r\n\r\n").expect("a head and a text");
        let head = head.replace("\r\n ", " ");
        let found: Vec<&str> = head.lines().filter_map(|line| line.strip_prefix(&format!("{name}: "))).collect();
        assert_eq!(found.len(), 1, "{name} in {head}");
        found[0].to_owned()
    }

    /// The text, read as quoted-printable (RFC 2045, 6.7).
    pub(crate) fn text(&self) -> String {
        let (_, coded) = self.source.split_once("\r\n\r\n").expect("a head and a text");
        let coded = coded.replace("=\r\n", "");
        let (mut bytes, mut rest) = (Vec::new(), coded.as_str());
        while let Some((before, after)) = rest.split_once('=') {
            bytes.extend_from_slice(before.as_bytes());
            bytes.push(u8::from_str_radix(&after[..2], 16).expect("two hexadecimal digits"));
            rest = &after[2..];
        }
        bytes.extend_from_slice(rest.as_bytes());
        String::from_utf8(bytes).expect("UTF-8").replace("\r\n", "\n")
    }

    /// The path of the address with `part` in it, which stands on a line of its own.
    #[track_caller]
    pub(crate) fn path(&self, part: &str) -> String {
        let text = self.text();
        let line = text.lines().find(|line| line.starts_with("http") && line.contains(part));
        let line = line.unwrap_or_else(|| panic!("no address with {part} in {text}"));
        line[line.find(part).expect("it is in it")..].to_owned()
    }
}

/// The server, until the test is over.
#[derive(Debug)]
pub(crate) struct Sink {
    address: String,
    mode: Arc<Mutex<Mode>>,
    inbox: Arc<Mutex<Vec<Mail>>>,
}

impl Sink {
    pub(crate) async fn start(mode: Mode) -> Sink {
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port is free");
        let address = format!("smtp://{}", listener.local_addr().expect("a listener has an address"));
        let (mode, inbox) = (Arc::new(Mutex::new(mode)), Arc::default());
        let sink = Sink { address, mode, inbox };
        let (mode, inbox) = (Arc::clone(&sink.mode), Arc::clone(&sink.inbox));
        tokio::spawn(async move {
            while let Ok((stream, _)) = listener.accept().await {
                let behave = *mode.lock().expect("nobody panics here");
                tokio::spawn(talk(stream, behave, Arc::clone(&inbox)));
            }
        });
        sink
    }

    /// A sender to this server.
    pub(crate) fn mailer(&self) -> Mailer {
        Mailer::new(&self.address, "office@quillmere.example").expect("a server on this machine")
    }

    pub(crate) fn behave(&self, mode: Mode) {
        *self.mode.lock().expect("nobody panics here") = mode;
    }

    pub(crate) fn mails(&self) -> Vec<Mail> {
        self.inbox.lock().expect("nobody panics here").clone()
    }

    /// All messages, once there are `count` of them; more end the test.
    pub(crate) async fn wait(&self, count: usize) -> Vec<Mail> {
        let until = Instant::now() + Duration::from_secs(20);
        while self.mails().len() < count && Instant::now() < until {
            tokio::time::sleep(Duration::from_millis(10)).await;
        }
        let mails = self.mails();
        let got: Vec<String> = mails.iter().map(|mail| mail.header("Subject")).collect();
        assert_eq!(got.len(), count, "{got:?}");
        mails
    }
}

/// One conversation (RFC 5321). It ends where the client goes away.
async fn talk(stream: TcpStream, mode: Mode, inbox: Arc<Mutex<Vec<Mail>>>) -> Option<()> {
    let mut stream = BufReader::new(stream);
    if mode == Mode::Hang {
        let _ = stream.read_line(&mut String::new()).await;
        return None;
    }
    stream.write_all(b"220 sink\r\n").await.ok()?;
    let mut recipients = Vec::new();
    loop {
        let line = line(&mut stream).await?;
        let answer = match (line.get(..4).unwrap_or_default(), mode) {
            ("RCPT", Mode::Refuse) => "550 5.1.1 no such mailbox here",
            ("RCPT", Mode::Busy) => "451 4.3.0 come back later",
            ("RCPT", _) => {
                recipients.push(line[4..].trim_start_matches(" TO:").trim_matches(['<', '>']).to_owned());
                "250 yes"
            }
            ("DATA", _) => {
                stream.write_all(b"354 go on\r\n").await.ok()?;
                let source = message(&mut stream).await?;
                let mail = Mail { recipients: std::mem::take(&mut recipients), source };
                inbox.lock().expect("nobody panics here").push(mail);
                if mode == Mode::Drop {
                    return None;
                }
                "250 kept"
            }
            ("QUIT", _) => "221 bye",
            _ => "250 yes",
        };
        stream.write_all(format!("{answer}\r\n").as_bytes()).await.ok()?;
    }
}

async fn line(stream: &mut BufReader<TcpStream>) -> Option<String> {
    let mut line = String::new();
    let read = stream.read_line(&mut line).await.ok()?;
    (read > 0).then(|| line.trim_end_matches("\r\n").to_owned())
}

async fn message(stream: &mut BufReader<TcpStream>) -> Option<String> {
    let mut source = String::new();
    loop {
        match line(stream).await?.as_str() {
            "." => return Some(source),
            text => source.push_str(&format!("{}\r\n", text.strip_prefix('.').unwrap_or(text))),
        }
    }
}
