//! A whole reading of the invented vehicle.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::definition::DefinitionSet;
use asfound_core::names::{ModuleName, RecordName};
use asfound_core::reading::Reading;
use asfound_core::situation::Engine;
use asfound_core::state::State;
use asfound_link::client::Timing;
use asfound_link::reading::{
    CodesWanted, Ended, ModuleAnswers, Script, Survey, SurveyWatcher, TakenReading, UnreadWhy, VinVerdict, Wanted,
    draw_up, judge_vin, vins_told,
};
use asfound_link::request::ReadRequest;
use asfound_simulated::{Fault, Faults, Vehicle};
use asfound_wire::conversation::ModuleAddress;

use super::virtual_link::VirtualLink;
use super::{promise, wren, wren_reading, wren_vin};

struct Following<'s, 'a>(&'s mut Script<'a>);

impl SurveyWatcher for Following<'_, '_> {
    fn next(&mut self, module: ModuleAddress, answers: &ModuleAnswers) -> Vec<ReadRequest> {
        self.0.next(module, answers)
    }
}

struct Nothing;

impl SurveyWatcher for Nothing {
    fn next(&mut self, _: ModuleAddress, _: &ModuleAnswers) -> Vec<ReadRequest> {
        Vec::new()
    }
}

fn definitions() -> DefinitionSet {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo-vehicles/definitions");
    let mut set = DefinitionSet::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let text = std::fs::read_to_string(entry.unwrap().path()).unwrap();
        set.add(asfound_core::definition::Definition::parse(&text).unwrap().definition).unwrap();
    }
    set
}

fn names(reading: &Reading) -> BTreeMap<ModuleAddress, ModuleName> {
    let address = |said: &asfound_core::reading::ModuleReading| u16::try_from(said.address.unwrap().0).unwrap();
    reading.modules.iter().map(|(name, said)| (ModuleAddress::Ip(address(said)), name.clone())).collect()
}

fn read(vehicle: Vehicle, wanted: Wanted) -> (TakenReading, VinVerdict, Vehicle) {
    let (definitions, state) = (definitions(), State::default());
    let names = names(&wren_reading());
    let mut link = VirtualLink::connect(vehicle).unwrap();
    let mut survey = Survey::new(Timing::default(), 4);
    for address in names.keys() {
        survey.add(*address, Script::OPENING);
    }
    assert_eq!(survey.run(&mut link, &mut Nothing).unwrap(), Ended::Done);
    let verdict = judge_vin(&BTreeSet::from([wren_vin()]), &vins_told(survey.answers()), None);
    let mut script = Script::new(&state, &definitions, &names, wanted);
    for address in names.keys() {
        let first = survey.of(*address).map(|opening| script.first(opening)).unwrap_or_default();
        survey.add(*address, first);
    }
    assert_eq!(survey.run(&mut link, &mut Following(&mut script)).unwrap(), Ended::Done);
    (draw_up(&survey, &script), verdict, link.vehicle)
}

/// What nobody can ask for: blocks, and records of which no definition and no earlier reading tells.
fn cannot_be_asked(record: &RecordName) -> bool {
    matches!(record, RecordName::Block(_)) || *record == RecordName::Identifier(0x05F0)
}

#[test]
fn the_reading_is_what_the_vehicle_holds() {
    let (taken, verdict, vehicle) = read(wren(), Wanted::default());
    assert_eq!(verdict, VinVerdict::Same { others: Vec::new() });
    assert_eq!(taken.unread, []);
    let truth = wren_reading();
    assert_eq!(taken.reading.modules.keys().collect::<Vec<_>>(), truth.modules.keys().collect::<Vec<_>>());
    for (name, said) in &truth.modules {
        let found = &taken.reading.modules[name];
        assert_eq!(found.identity, said.identity, "{name}");
        assert_eq!(found.address, said.address);
        let mut records = said.records.clone();
        records.retain(|record, _| !cannot_be_asked(record));
        assert_eq!(found.records, records, "{name}");
        let codes: Vec<_> = said.trouble_codes.iter().flatten().map(|code| (code.code.clone(), code.status)).collect();
        let read: Vec<_> = found.trouble_codes.iter().flatten().map(|code| (code.code.clone(), code.status)).collect();
        assert_eq!(read, codes, "{name}");
    }
    assert_eq!(taken.reading.odometer_km, Some(84_210));
    assert_eq!(taken.reading.supply_voltage, Some("12.6".parse().unwrap()));
    assert_eq!(taken.reading.situation.engine, Some(Engine::Stopped));
    // The modules have none of the other identifiers.
    assert!(taken.refused.iter().all(|refused| !refused.expected && refused.why.0 == 0x31 || refused.why.0 == 0x11));
    assert!(promise::holds(&vehicle) > 100);
}

#[test]
fn snapshots_extended_data_and_the_extended_session_are_read_where_they_are_wanted() {
    let codes = CodesWanted { mask: 0xAF, snapshots: true, extended: true };
    let (taken, _, vehicle) = read(wren(), Wanted { codes: Some(codes), extended_session: true });
    assert_eq!(taken.unread, []);
    let brakes = &taken.reading.modules[&"brakes".parse().unwrap()];
    let code = &brakes.trouble_codes.as_ref().unwrap()[0];
    assert_eq!(code.code.to_string(), "C0035-11");
    assert!(code.freeze_frame.as_ref().unwrap().raw.is_some());
    assert_eq!(code.format.unwrap().0, 1);
    promise::holds(&vehicle);
    // Every module is in its default session again.
    assert!(vehicle.modules.values().all(|module| !module.extended_session));
    let of_body: Vec<&[u8]> =
        vehicle.requests().iter().filter(|(module, _)| *module == 0x0E).map(|(_, request)| &request[..]).collect();
    assert_eq!(of_body[2], [0x10, 0x03]);
    assert_eq!(of_body.last().unwrap(), &[0x10, 0x01]);
}

#[test]
fn a_record_of_wrong_length_is_read_once_more_and_else_left_out() {
    let mut vehicle = wren();
    vehicle.faults = Faults::seeded(7, [(Fault::WrongLength, 1000)]);
    let (taken, _, _) = read(vehicle, Wanted { codes: None, extended_session: false });
    let body = &taken.reading.modules[&"body".parse().unwrap()];
    assert!(body.records.is_empty(), "{:?}", body.records);
    let lengths = taken.unread.iter().filter(|unread| matches!(unread.why, UnreadWhy::Length { .. }));
    assert!(lengths.count() >= 3);

    let mut vehicle = wren();
    vehicle.faults = Faults::seeded(11, [(Fault::WrongLength, 120)]);
    let (taken, _, _) = read(vehicle, Wanted { codes: None, extended_session: false });
    let truth = wren_reading();
    // Of records whose length is known none is wrong, and some were read twice.
    let definitions = definitions();
    for (name, said) in &taken.reading.modules {
        let definition = definitions.fitting(name, &truth.modules[name].identity).unwrap().unwrap();
        for (record, bytes) in said.records.iter().filter(|(record, _)| definition.record(record).is_some()) {
            assert_eq!(bytes, &truth.modules[name].records[record], "{name} {record}");
        }
    }
}

#[test]
fn another_car_is_known_by_its_vin() {
    let mut vehicle = wren();
    for module in vehicle.modules.values_mut() {
        module.records.entry(0xF190).and_modify(|vin| *vin = b"G0MWY41DXJT001186".to_vec());
    }
    let (_, verdict, _) = read(vehicle, Wanted::default());
    assert!(matches!(verdict, VinVerdict::Another(_)));
}
