//! Which module is which.

use asfound_tests::json::Witness;
use asfound_tests::{BusLog, BusModule, hex_of};
use insta::assert_snapshot;

use crate::{FIVE, FOUND, MORNING, five_flashes, shop_with};

/// Identifiers that tell nothing.
const SOMEBODY: BusModule = BusModule("7A4", "7AC");

fn work() -> BusLog {
    let mut log = BusLog::at(MORNING);
    log.read(SOMEBODY, "0D01", FOUND).write(SOMEBODY, "0D01", FIVE).read(SOMEBODY, "0D01", FIVE);
    log
}

#[test]
fn nothing_tells_which_module_it_is() {
    let mut shop = shop_with(&work());
    assert_snapshot!(shop.refused("file-log wren ./drive.log --why five"), @"
    $ asfound file-log wren ./drive.log --why five
    --- standard error
    asfound: no module in the logs is known by name
      7A4:7AC on can0: 1 record, 1 write; perhaps body, whose records read the same
    hint: say which module it is: `--module body=7A4:7AC`
    --- exit code 2
    ");
}

#[test]
fn somebody_says_it_once() {
    let mut shop = shop_with(&work());
    let filed: Witness = shop.json("file-log wren ./drive.log --why five --module body=7A4:7AC");
    assert_eq!((filed.modules[0].place.as_str(), filed.modules[0].known.as_str()), ("7A4:7AC", "as you say"));
    // The next log of this vehicle needs no saying.
    let mut later = BusLog::at(MORNING + time::Duration::hours(3));
    later.read(SOMEBODY, "0D01", FIVE);
    shop.write("later.log", later.text());
    let again: Witness = shop.json("file-log wren ./later.log");
    assert_eq!(again.modules[0].known, "as in entry 6");
}

#[test]
fn the_module_says_its_part_number() {
    let mut log = work();
    log.read(SOMEBODY, "F187", &hex_of("7H0 951 204  "));
    let mut shop = shop_with(&log);
    let filed: Witness = shop.json("file-log wren ./drive.log --why five");
    assert_eq!(filed.modules[0].known, "by its part number");
    // It is the same part in other writing, and nobody's hand.
    assert!(filed.entries.iter().all(|entry| !entry.headline.contains("another hand")), "{:?}", filed.entries);
}

#[test]
fn a_module_that_was_only_read_may_stay_unknown() {
    const OTHER: BusModule = BusModule("7B0", "7B8");
    let mut log = five_flashes();
    log.read(OTHER, "1234", "0102").read(OTHER, "1235", "0304");
    let mut shop = shop_with(&log);
    let filed: Witness = shop.json("file-log wren ./drive.log --why five");
    assert_eq!((filed.unplaced.len(), filed.unplaced[0].place.as_str()), (1, "7B0:7B8"));
    let mut log = work();
    log.read(OTHER, "1234", "0102");
    shop.write("second.log", log.text());
    assert_snapshot!(shop.refused("file-log wren ./second.log --module body=7A4:7AF --why five"), @"
    $ asfound file-log wren ./second.log --module body=7A4:7AF --why five
    --- standard error
    asfound: `body=7A4:7AF`: the logs have no module that is asked and answers there
    hint: `asfound wire show LOG` lists who speaks in it
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("file-log wren ./second.log --module body=7B0:7B8 --why five"), @"
    $ asfound file-log wren ./second.log --module body=7B0:7B8 --why five
    --- standard error
    asfound: a module was written, and nothing tells which it is
      7A4:7AC on can0: 1 record, 1 write
    hint: say which module it is: `--module NAME=7A4:7AC`
    --- exit code 3
    ");
}

#[test]
fn what_is_no_log() {
    let mut shop = shop_with(&work());
    shop.write("notes.txt", "flashes: five\n");
    assert_snapshot!(shop.refused("file-log wren ./notes.txt"), @"
    $ asfound file-log wren ./notes.txt
    --- standard error
    asfound: ./notes.txt: nothing in it is a bus log
    hint: save the log as candump text (`candump -L`), pcap or pcapng
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("file-log wren ./nowhere.log"), @"
    $ asfound file-log wren ./nowhere.log
    --- standard error
    asfound: ./nowhere.log: No such file or directory (os error 2)
    hint: check the name of the file
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("file-log wren ./drive.log --module Body=7A4:7AC"), @"
    $ asfound file-log wren ./drive.log --module Body=7A4:7AC
    --- standard error
    error: invalid value 'Body=7A4:7AC' for '--module <NAME=PLACE>': `Body=7A4:7AC`: `Body` cannot be a module name: it must start with a letter from a to z; a module is named as in body=7E0:7E8, or with a logical address on IP as in gateway=0E00

    For more information, try '--help'.
    --- exit code 2
    ");
}
