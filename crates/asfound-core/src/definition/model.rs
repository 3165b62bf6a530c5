//! A definition as a whole.

use std::collections::BTreeMap;

use super::{AppliesTo, PlausibilityRule, RecordDefinition, Rule, SettingDefinition, parse};
use crate::document::Problems;
use crate::names::{DefinitionId, ModuleName, RecordName, SettingName};
use crate::safety::{SafetyClass, SafetyTag, role_tags};

/// A definition that was read, with what is likely not meant in it.
#[derive(Debug, Clone)]
pub struct ParsedDefinition {
    /// The definition.
    pub definition: Definition,
    /// Warnings only; often empty.
    pub warnings: Problems,
}

/// How one family of control modules lays its settings out, and what must hold between them.
#[derive(Debug, Clone)]
pub struct Definition {
    pub(super) id: DefinitionId,
    pub(super) title: String,
    pub(super) source: Option<String>,
    pub(super) systems: Vec<SafetyTag>,
    pub(super) cautions: Vec<String>,
    pub(super) applies_to: AppliesTo,
    pub(super) records: BTreeMap<RecordName, RecordDefinition>,
    pub(super) settings: BTreeMap<SettingName, SettingDefinition>,
    pub(super) rules: Vec<Rule>,
    pub(super) plausibility: Vec<PlausibilityRule>,
    pub(super) text: String,
}

impl Definition {
    /// Reads a definition file (`docs/definitions.md`). The problems are everything that is wrong with it, each with line
    /// and column, and the warnings among them.
    ///
    /// Never panics, and takes bounded stack, whatever the text is.
    pub fn parse(text: &str) -> Result<ParsedDefinition, Problems> {
        parse::definition(text, parse::Strictness::File)
    }

    /// Reads a definition that a journal carries. It means what it means as a file; what [`Definition::parse`] has come to
    /// refuse since such a text was filed is accepted, so that every journal can still be read and audited.
    pub fn parse_pinned(text: &str) -> Result<ParsedDefinition, Problems> {
        parse::definition(text, parse::Strictness::Pinned)
    }

    /// Everything that is to be said about a definition file, errors and warnings.
    pub fn check(text: &str) -> Problems {
        match Self::parse(text) {
            Ok(parsed) => parsed.warnings,
            Err(problems) => problems,
        }
    }

    /// Its name, unique in a garage.
    pub fn id(&self) -> &DefinitionId {
        &self.id
    }

    /// What it is called, for people.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// Where the facts come from.
    pub fn source(&self) -> Option<&str> {
        self.source.as_deref()
    }

    /// Safety tags of the module as a whole, which class the bits that no setting names; none twice.
    pub fn systems(&self) -> &[SafetyTag] {
        &self.systems
    }

    /// What is shown with every change in the module.
    pub fn cautions(&self) -> &[String] {
        &self.cautions
    }

    /// Which modules it is for.
    pub fn applies_to(&self) -> &AppliesTo {
        &self.applies_to
    }

    /// The role of the modules that it is for.
    pub fn module(&self) -> &ModuleName {
        &self.applies_to.module
    }

    /// Its records.
    pub fn records(&self) -> &BTreeMap<RecordName, RecordDefinition> {
        &self.records
    }

    /// Its settings.
    pub fn settings(&self) -> &BTreeMap<SettingName, SettingDefinition> {
        &self.settings
    }

    /// Its rules, in the order of the file.
    pub fn rules(&self) -> &[Rule] {
        &self.rules
    }

    /// In which situations the module's trouble codes can be believed, in the order of the file.
    pub fn plausibility(&self) -> &[PlausibilityRule] {
        &self.plausibility
    }

    /// The exact text of the file, which the journal keeps.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The class of bits that no setting names: the strictest of the module's systems and of its role, and never routine,
    /// because nobody knows what they do.
    pub fn undeclared_class(&self) -> SafetyClass {
        undeclared_class(&self.systems, self.module())
    }
}

pub(super) fn undeclared_class(systems: &[SafetyTag], module: &ModuleName) -> SafetyClass {
    let tags = systems.iter().copied().chain(role_tags(module));
    tags.map(SafetyTag::class).fold(SafetyClass::Caution, Ord::max)
}
