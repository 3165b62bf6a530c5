//! What was done on the bus, in words. The names are those of ISO 14229-1.

use asfound_wire::conversation::ActionKind;
use asfound_wire::service::{routine_name, service_name};

/// What was done, in words.
pub(super) fn action(kind: ActionKind) -> String {
    match kind {
        ActionKind::Session(0x01 | 0x81) => "default session".to_owned(),
        ActionKind::Session(2) => "programming session".to_owned(),
        ActionKind::Session(3) => "extended session".to_owned(),
        ActionKind::Session(4) => "safety system diagnostic session".to_owned(),
        ActionKind::Session(session) => format!("session {session:02X}"),
        ActionKind::Reset(1) => "restart (hard reset)".to_owned(),
        ActionKind::Reset(2) => "restart (as by ignition off and on)".to_owned(),
        ActionKind::Reset(3) => "restart (soft reset)".to_owned(),
        ActionKind::Reset(kind) => format!("restart {kind:02X}"),
        ActionKind::ClearCodes(None | Some(0x00FF_FFFF)) | ActionKind::ClearCodeGroup(0xFF00) => {
            "trouble codes cleared".to_owned()
        }
        ActionKind::ClearCodes(Some(group)) => format!("trouble codes cleared, group {group:06X}"),
        ActionKind::ClearEmissionCodes => "emission-related trouble codes cleared".to_owned(),
        ActionKind::ClearCodeGroup(group) => format!("trouble codes cleared, group {group:04X}"),
        ActionKind::WriteLocal(record) => format!("record of local identifier {record:02X} written"),
        ActionKind::WriteMemory(Some(address)) => format!("memory written at {address:08X}"),
        ActionKind::WriteMemory(None) => "memory written".to_owned(),
        ActionKind::SecurityAccess(level) if level % 2 == 1 => {
            format!("security access asked for, level {level:02X}")
        }
        ActionKind::SecurityAccess(level) => format!("security access, key for level {:02X}", level.saturating_sub(1)),
        ActionKind::Communication(0) => "ordinary communication on".to_owned(),
        ActionKind::Communication(3) => "ordinary communication off".to_owned(),
        ActionKind::Communication(control) => format!("communication control {control:02X}"),
        ActionKind::Control(record) => format!("output {record:04X} controlled"),
        ActionKind::Routine(1, routine) => format!("routine {} started", numbered(routine)),
        ActionKind::Routine(2, routine) => format!("routine {} stopped", numbered(routine)),
        ActionKind::Routine(3, routine) => format!("results of routine {} asked for", numbered(routine)),
        ActionKind::Routine(action, routine) => format!("routine {}, action {action:02X}", numbered(routine)),
        ActionKind::BeginTransfer(false) => "transfer to the module begun".to_owned(),
        ActionKind::BeginTransfer(true) => "transfer from the module begun".to_owned(),
        ActionKind::EndTransfer => "transfer ended".to_owned(),
        ActionKind::CodeRecording(1) => "recording of trouble codes on".to_owned(),
        ActionKind::CodeRecording(2) => "recording of trouble codes off".to_owned(),
        ActionKind::CodeRecording(setting) => format!("recording of trouble codes, {setting:02X}"),
        ActionKind::Other(service) => match service_name(service) {
            Some(name) => format!("service {service:02X}, {name}"),
            None => format!("unknown service {service:02X}"),
        },
    }
}

/// A routine by its number and, where ISO 14229-1 has one, its name.
fn numbered(routine: u16) -> String {
    match routine_name(routine) {
        Some(name) => format!("{routine:04X} {name}"),
        None => format!("{routine:04X}"),
    }
}
