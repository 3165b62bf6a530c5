//! What the commands about keys show.

use std::path::{Path, PathBuf};

use asfound_core::entry::Author;
use asfound_journal::garage::{Person, SigningKey};
use asfound_journal::sign::{AllowedSigner, AllowedSigners, Fingerprint, PublicKey, Stamp};
use serde_json::{Value, json};
use time::{OffsetDateTime, UtcOffset};

use super::shared::moment;
use crate::setup::Screen;
use asfound_report::{NOTHING, Page, date_and_time};

/// A key that signs from now on.
pub struct KeyUsed {
    /// The key.
    pub key: PublicKey,
    /// The file of its private half; without it, it is in the ssh-agent.
    pub file: Option<PathBuf>,
    /// Whose entries alone it signs; without them, everybody's.
    pub author: Option<Author>,
    /// The name by which it is trusted.
    pub trusted: String,
    /// The list of trusted keys.
    pub list: PathBuf,
    /// The key that signed until now.
    pub replaced: Option<Fingerprint>,
}

impl Screen for KeyUsed {
    fn text(&self, page: &mut Page) {
        page.head(&["signing key", self.key.kind()]);
        page.pair("key", self.key.fingerprint().as_str());
        page.pair("where", &place(self.file.as_deref()));
        page.pair("trusted as", &self.trusted);
        page.pair("listed in", &self.list.display().to_string());
        page.gap();
        page.line(&match &self.author {
            Some(author) => format!("The entries of {author} are signed with it from now on."),
            None => "Every entry is signed with it from now on.".to_owned(),
        });
        if let Some(replaced) = &self.replaced {
            page.gap();
            page.line(&format!(
                "{replaced} signed until now. Its entries stay good, and it stays trusted until you end its time: \
                 asfound key trust {replaced} --name NAME --until DATE"
            ));
        }
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/key-used/1",
            "key": self.key.fingerprint(),
            "kind": self.key.kind(),
            "file": self.file,
            "author": self.author.as_ref().map(ToString::to_string),
            "principals": self.trusted,
            "list": self.list,
            "replaced": self.replaced,
        })
    }
}

fn place(file: Option<&Path>) -> String {
    file.map_or_else(|| "in the ssh-agent".to_owned(), |path| path.display().to_string())
}

/// No key signs from now on.
pub struct KeyStopped {
    /// The key that signed until now.
    pub was: Option<Fingerprint>,
}

impl Screen for KeyStopped {
    fn text(&self, page: &mut Page) {
        match &self.was {
            Some(key) => page.line(&format!(
                "Entries are filed without a signature from now on. Those that {key} signed stay as they are, and it \
                 stays trusted."
            )),
            None => page.line("No key signed here."),
        }
    }

    fn json(&self) -> Value {
        json!({ "schema": "asfound/key-stopped/1", "was": self.was })
    }
}

/// A key that is trusted.
pub struct KeyTrusted {
    /// The key, its names and its times.
    pub signer: AllowedSigner,
    /// The list of trusted keys.
    pub list: PathBuf,
    /// The offset in which times are shown.
    pub offset: UtcOffset,
}

impl Screen for KeyTrusted {
    fn text(&self, page: &mut Page) {
        page.head(&["trusted key", &self.signer.principals, self.signer.key.kind()]);
        page.pair("key", self.signer.key.fingerprint().as_str());
        page.pair("from", &shown(self.signer.valid_after, self.offset));
        page.pair("until", &shown(self.signer.valid_before, self.offset));
        page.pair("listed in", &self.list.display().to_string());
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/key-trusted/1",
            "key": signer_json(&self.signer, self.offset),
            "list": self.list,
        })
    }
}

/// The keys that are trusted, and the one that signs.
pub struct Keys {
    /// The key that signs.
    pub signing: Option<SigningKey>,
    /// The people who file entries here, each with their own key.
    pub people: Vec<Person>,
    /// Those that are trusted.
    pub list: AllowedSigners,
    /// Those in the ssh-agent, where they were asked for.
    pub agent: Option<Vec<PublicKey>>,
    /// The present moment.
    pub now: OffsetDateTime,
}

impl Screen for Keys {
    fn text(&self, page: &mut Page) {
        page.head(&["keys"]);
        match &self.signing {
            Some(SigningKey { key, file }) => page.pair("signs", &format!("{key}, {}", place(file.as_deref()))),
            None => page.pair("signs", "no key: entries are filed without a signature"),
        }
        for Person { author, signing } in &self.people {
            let own = signing.as_ref().map(|SigningKey { key, file }| format!("{key}, {}", place(file.as_deref())));
            page.pair("for", &format!("{author}: {}", own.as_deref().unwrap_or("no key of their own")));
        }
        let offset = self.now.offset();
        page.part("Trusted");
        for signer in self.list.signers() {
            let times = match (signer.valid_after, signer.valid_before) {
                (None, None) => "at all times".to_owned(),
                (from, None) => format!("from {}", shown(from, offset)),
                (None, until) => format!("until {}", shown(until, offset)),
                (from, until) => format!("from {} until {}", shown(from, offset), shown(until, offset)),
            };
            let times = if signer.is_for_entries() { times } else { "for other uses than entries".to_owned() };
            page.item(&format!("{}, {times}", signer.principals));
            // On a line of its own, so that it can be copied.
            page.verbatim(&format!("{} {}", signer.key.fingerprint(), signer.key.kind()));
        }
        if self.list.signers().next().is_none() {
            page.line("No key yet.");
        }
        for (line, problem) in self.list.problems() {
            page.caution(&format!("allowed_signers, line {line}, trusts nobody: {problem}"));
        }
        if let Some(agent) = &self.agent {
            page.part("In the ssh-agent");
            for key in agent {
                page.item(key.comment());
                page.verbatim(&format!("{} {}", key.fingerprint(), key.kind()));
            }
            if agent.is_empty() {
                page.line("No key.");
            }
        }
    }

    fn json(&self) -> Value {
        let offset = self.now.offset();
        let trusted = self.list.signers().map(|signer| signer_json(signer, offset));
        let key = |key: &PublicKey| json!({ "key": key.fingerprint(), "kind": key.kind(), "comment": key.comment() });
        json!({
            "schema": "asfound/keys/1",
            "signing": self.signing.as_ref().map(|signing| json!({ "key": signing.key, "file": signing.file })),
            "people": self.people.iter().map(|Person { author, signing }| json!({
                "author": author.to_string(),
                "key": signing.as_ref().map(|signing| &signing.key),
                "file": signing.as_ref().map(|signing| &signing.file),
            })).collect::<Vec<_>>(),
            "trusted": trusted.collect::<Vec<_>>(),
            "problems": self.list.problems().iter()
                .map(|(line, message)| json!({ "line": line, "message": message }))
                .collect::<Vec<_>>(),
            "agent": self.agent.as_ref().map(|keys| keys.iter().map(key).collect::<Vec<_>>()),
        })
    }
}

fn shown(stamp: Option<Stamp>, offset: UtcOffset) -> String {
    stamp.map_or_else(|| NOTHING.to_owned(), |stamp| date_and_time(stamp.at(offset).to_offset(offset)))
}

fn signer_json(signer: &AllowedSigner, offset: UtcOffset) -> Value {
    json!({
        "principals": signer.principals,
        "key": signer.key.fingerprint(),
        "kind": signer.key.kind(),
        "comment": signer.key.comment(),
        "from": signer.valid_after.map(|stamp| moment(stamp.at(offset))),
        "until": signer.valid_before.map(|stamp| moment(stamp.at(offset))),
        "for_entries": signer.is_for_entries(),
    })
}
