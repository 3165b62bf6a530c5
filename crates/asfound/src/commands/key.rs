//! `asfound key`

use std::path::{Path, PathBuf};

use asfound_core::moment::Precision;
use asfound_journal::garage::{ALLOWED_SIGNERS, Garage, SigningKey};
use asfound_journal::sign::{
    AgentKey, AllowedSigner, Fingerprint, KeyFile, Principal, PublicKey, Signer, Stamp, agent_keys,
};
use clap::{Args as ClapArgs, Subcommand};
use time::{Duration, OffsetDateTime};

use crate::arguments::parse_moment;
use crate::bounded_file::read_bounded_text;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::unreadable;
use crate::screens::keys::{KeyStopped, KeyTrusted, KeyUsed, Keys};
use crate::setup::{Session, Zone};

/// Sign entries with an SSH key, and say whose keys are trusted.
#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:\n  asfound key use ~/.ssh/id_ed25519\n  asfound key list")]
pub struct Args {
    /// What to do
    #[command(subcommand)]
    pub action: Action,
}

/// What to do with keys.
#[derive(Debug, Subcommand)]
pub enum Action {
    /// Sign every entry from now on with this key; a passphrase is asked for when one is filed
    #[command(after_help = "Examples:\n  asfound key use ~/.ssh/id_ed25519\n  asfound key use --agent SHA256:…\n  \
                      asfound --author \"Ole Quist <ole@workshop.example>\" key use ole --own\n\n\
                      `ssh-keygen -t ed25519` makes a key. Scripts give its passphrase in ASFOUND_KEY_PASSPHRASE.")]
    Use {
        /// The file of the private key, in OpenSSH's form
        #[arg(required_unless_present = "agent", conflicts_with = "agent")]
        file: Option<PathBuf>,

        /// A key in the ssh-agent, by its fingerprint
        #[arg(long, value_name = "FINGERPRINT")]
        agent: Option<Fingerprint>,

        /// The name by which its public half is trusted; else the author's e-mail address or name
        #[arg(long, value_name = "NAME")]
        name: Option<Principal>,

        /// Sign the author's entries alone with it: others who file here sign with their own
        #[arg(long)]
        own: bool,
    },
    /// List the keys that are trusted, and the one that signs
    #[command(after_help = "Examples:\n  asfound key list\n  asfound key list --in-agent")]
    List {
        /// List the keys in the ssh-agent as well
        #[arg(long)]
        in_agent: bool,
    },
    /// Trust somebody's public key, for all time or for some
    ///
    /// Said again of the same key and name, it moves the times that are given. What counts is the time at which an
    /// entry was filed, so that a key which has ended keeps its old entries good.
    #[command(after_help = "Examples:\n  asfound key trust edda.pub --name edda@workshop.example\n  \
                      asfound key trust SHA256:… --name edda@workshop.example --until 2026-06-30")]
    Trust {
        /// The file of the public key, or the fingerprint of one that is listed already
        #[arg(value_name = "KEY")]
        key: String,

        /// Whose it is: an e-mail address or a name
        #[arg(long, value_name = "NAME")]
        name: Principal,

        /// The first day, or moment, for which it is trusted
        #[arg(long, value_name = "DATE")]
        from: Option<String>,

        /// The last day, or moment, for which it is trusted
        #[arg(long, value_name = "DATE")]
        until: Option<String>,
    },
    /// Sign no more entries; those that are signed stay as they are
    #[command(after_help = "Example:\n  asfound key stop")]
    Stop,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    match &args.action {
        Action::Use { file, agent, name, own } => {
            use_key(file.as_deref(), agent.as_ref(), name.as_ref(), *own, session)
        }
        Action::List { in_agent } => list(*in_agent, session),
        Action::Trust { key, name, from, until } => trust(key, name, [from.as_deref(), until.as_deref()], session),
        Action::Stop => stop(session),
    }
}

/// The garage; keys are often the first thing that somebody brings, so that it is made for them too.
fn garage(session: &Session<'_>) -> Result<Garage, Failure> {
    Ok(session.garage_or_new()?.0)
}

fn use_key(
    file: Option<&Path>,
    agent: Option<&Fingerprint>,
    name: Option<&Principal>,
    own: bool,
    session: &mut Session<'_>,
) -> Result<Exit, Failure> {
    let (key, file) = match (file, agent) {
        (Some(file), _) => {
            let path = std::path::absolute(file).map_err(|error| unreadable(file, &error))?;
            let held = KeyFile::open(&path)?;
            // What can be found out without the passphrase is found out now, and not when an entry is due.
            if !held.is_locked() {
                held.unlock(None)?;
            }
            (held.public_key().clone(), Some(path))
        }
        (None, Some(wanted)) => {
            (AgentKey::find(session.environment.agent.as_deref(), wanted)?.public_key().clone(), None)
        }
        (None, None) => return Err(Failure::usage("no key is named")),
    };
    let mut garage = garage(session)?;
    let author = own.then(|| session.author(&garage)).transpose()?;
    let settings = garage.settings();
    let before = match &author {
        Some(author) => {
            settings.people.iter().find(|one| one.author == *author).and_then(|person| person.signing.as_ref())
        }
        None => settings.signing.as_ref(),
    };
    let before = before.map(|signing| signing.key.clone());
    let principal = match name {
        Some(name) => name.clone(),
        None => own_name(&garage, session)?,
    };
    let trusted = trust_own(&garage, &key, &principal, session.environment.now)?;
    let signing = SigningKey { key: key.fingerprint(), file: file.clone() };
    match &author {
        Some(author) => garage.sign_own(author, &signing)?,
        None => garage.sign_with(Some(&signing))?,
    }
    let replaced = before.filter(|before| *before != key.fingerprint());
    let list = garage.path().join(ALLOWED_SIGNERS);
    session.show(&KeyUsed { key, file, author, trusted, list, replaced })?;
    Ok(Exit::Done)
}

/// The name by which the author's own key is trusted.
fn own_name(garage: &Garage, session: &Session<'_>) -> Result<Principal, Failure> {
    let author = session.author(garage)?;
    let name = author.email().unwrap_or(author.name());
    name.parse().map_err(|error| Failure::usage(error).hint("give another with `--name NAME`"))
}

/// Trusts the key that signs, unless it is trusted already; says by what name.
fn trust_own(garage: &Garage, key: &PublicKey, principal: &Principal, now: OffsetDateTime) -> Result<String, Failure> {
    let list = garage.allowed_signers()?;
    let listed = || list.signers().filter(|signer| signer.key == *key && signer.is_for_entries());
    if let Some(signer) = listed().find(|signer| signer.is_valid_at(now)) {
        return Ok(signer.principals.clone());
    }
    if let Some(signer) = listed().next() {
        let (key, name) = (key.fingerprint(), &signer.principals);
        return Err(Failure::refused(format!("the key {key} of {name} is listed, but not trusted at this time")).hint(
            format!("move its time: asfound key trust {key} --name \"{name}\" --until DATE; or use another key"),
        ));
    }
    garage.trust(&AllowedSigner::new(principal, key.clone()))?;
    Ok(principal.to_string())
}

fn list(in_agent: bool, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let garage = session.garage()?;
    let agent = match (in_agent, session.environment.agent.as_deref()) {
        (false, _) => None,
        (true, None) => {
            return Err(Failure::usage("there is no ssh-agent: SSH_AUTH_SOCK names none")
                .hint("start one with `eval $(ssh-agent)`, then `ssh-add FILE`"));
        }
        (true, Some(socket)) => Some(agent_keys(socket).map_err(|told| {
            Failure::usage(format!("the ssh-agent cannot be reached: {told}")).hint("look at it with `ssh-add -l`")
        })?),
    };
    let (signing, people) = (garage.settings().signing.clone(), garage.settings().people.clone());
    let list = garage.allowed_signers()?;
    session.show(&Keys { signing, people, list, agent, now: session.environment.now })?;
    Ok(Exit::Done)
}

fn trust(
    key: &str,
    name: &Principal,
    [from, until]: [Option<&str>; 2],
    session: &mut Session<'_>,
) -> Result<Exit, Failure> {
    let (now, zone) = (session.environment.now, session.environment.zone.clone());
    let garage = garage(session)?;
    let list = garage.allowed_signers()?;
    let key = match key.parse::<Fingerprint>() {
        Ok(wanted) => {
            let listed = list.signers().find(|signer| signer.key.fingerprint() == wanted);
            listed.map(|signer| signer.key.clone()).ok_or_else(|| {
                Failure::usage(format!("no key with the fingerprint {wanted} is listed"))
                    .hint("name the file of the public key; `asfound key list` lists those that are trusted")
            })?
        }
        Err(_) => public_key(Path::new(key))?,
    };
    let same = |old: &&AllowedSigner| old.key == key && old.principals == name.as_str();
    let mut signer = list.signers().find(same).cloned().unwrap_or_else(|| AllowedSigner::new(name, key.clone()));
    if let Some(text) = from {
        signer.valid_after = Some(Stamp::of(edge(text, &zone, false)?));
    }
    if let Some(text) = until {
        signer.valid_before = Some(Stamp::of(edge(text, &zone, true)?));
    }
    let offset = now.offset();
    if let (Some(from), Some(until)) = (signer.valid_after, signer.valid_before)
        && from.at(offset) > until.at(offset)
    {
        return Err(Failure::usage("the key would end before it begins").hint("give both `--from` and `--until`"));
    }
    garage.trust(&signer)?;
    session.show(&KeyTrusted { signer, list: garage.path().join(ALLOWED_SIGNERS), offset })?;
    Ok(Exit::Done)
}

fn public_key(path: &Path) -> Result<PublicKey, Failure> {
    let text = read_bounded_text(path).map_err(|error| unreadable(path, &error))?;
    if text.contains("PRIVATE KEY") {
        return Err(Failure::usage(format!("{} is a private key, which stays with its owner", path.display()))
            .hint(format!("the public half lies beside it: {}.pub", path.display())));
    }
    PublicKey::parse(&text).map_err(|error| {
        Failure::usage(format!("{}: {error}", path.display())).hint("that is the file whose name ends in `.pub`")
    })
}

/// The moment that a text names; where it names a day, a month or a year, its first second or its last.
fn edge(text: &str, zone: &Zone, last: bool) -> Result<OffsetDateTime, Failure> {
    let named = parse_moment(text, zone)?;
    let day = named.at.date();
    let behind = match named.precision {
        Precision::Second => return Ok(named.at),
        Precision::Day => day.next_day(),
        // 31 days after the first of a month it is the next month, whose first day is meant.
        Precision::Month => day.checked_add(Duration::days(31)).and_then(|next| next.replace_day(1).ok()),
        Precision::Year => day.replace_year(day.year() + 1).ok(),
    };
    let first_of = |day| zone.first_of(day).map_err(|error| Failure::usage(&error).maybe_hint(error.hint()));
    match behind.filter(|_| last) {
        Some(behind) => Ok(first_of(behind)? - Duration::SECOND),
        None => first_of(day),
    }
}

fn stop(session: &mut Session<'_>) -> Result<Exit, Failure> {
    let mut garage = session.garage()?;
    let was = garage.settings().signing.clone();
    garage.sign_with(None)?;
    session.show(&KeyStopped { was: was.map(|signing| signing.key) })?;
    Ok(Exit::Done)
}
