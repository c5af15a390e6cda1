//! Recognising, checking and mending.

use super::*;

/// The example of the UPU's standard S10 as its published descriptions print it.
#[test]
fn the_standards_own_example_holds() {
    let found = identify("RR 473 124 829 GB");
    assert_eq!((found.kind, found.valid), (Some(Kind::UpuS10), true));
    assert!(!identify("RR473124828GB").valid);
    assert!(!identify("RR473124829XX").valid, "no such country");
}

/// 4731 2482 9: the sum is 200, the remainder 2, so no wrong digit can hide behind the doubled check digit 5.
#[test]
fn every_single_wrong_digit_of_an_s10_number_is_caught() {
    for place in 2..11 {
        for digit in '0'..='9' {
            let mut number: Vec<char> = "RR473124829GB".chars().collect();
            let right = number[place] == digit;
            number[place] = digit;
            let number: String = number.into_iter().collect();
            assert_eq!(identify(&number).valid, right, "{number}");
        }
    }
}

/// Not a fault here but the standard's: both sums, 204 and 220, leave a remainder that is written 5.
#[test]
fn s10_itself_cannot_tell_remainder_0_from_6() {
    assert!(identify("RB123456785GB").valid && identify("RB323456785GB").valid);
}

#[test]
fn scanner_prefix_brackets_and_routing_are_taken_off() {
    for given in [
        "9261290336128704042634",
        "9261 2903 3612 8704 0426 34",
        "(420)90245(92)61290336128704042634",
        "]C1420902459261290336128704042634",
        "]C1\u{1d}420902451234\u{1d}9261290336128704042634",
    ] {
        let found = identify(given);
        assert_eq!((found.number.as_str(), found.valid), ("9261290336128704042634", true), "{given}");
    }
}

/// 47312482 9 with 1 and 2 swapped, which no other swap explains; and with its last two swapped, which swapping
/// 8 and 9 mends as well as swapping them back, so that nothing is named.
#[test]
fn swapped_neighbours_are_named_where_only_one_swap_explains() {
    let found = identify("RR473214829GB");
    assert_eq!((found.valid, found.fix.as_deref()), (false, Some("RR473124829GB")));
    let twofold = identify("RR473124892GB");
    assert_eq!((twofold.valid, twofold.fix), (false, None));
    assert_eq!(identify("RR473124829GB").fix, None);
}

/// A letter typed for the digit it looks like is named where the check digit then holds, and nowhere else.
#[test]
fn a_letter_that_looks_like_a_digit_is_named() {
    for (given, kind, fix) in [
        ("RR47312482 9GB", Some(Kind::UpuS10), None),
        ("RR4731Z4829GB", Some(Kind::UpuS10), Some("RR473124829GB")),
        ("RR47312482QGB", None, None),
        ("RR4731Z4B29GB", None, None),
        ("926129O336128704042634", Some(Kind::UsPackage), Some("9261290336128704042634")),
        ("]C14209024592612903361287O4042634", Some(Kind::UsPackage), Some("9261290336128704042634")),
        ("9261290336128704042635", Some(Kind::UsPackage), None),
    ] {
        let found = identify(given);
        assert_eq!((found.kind, found.fix.as_deref()), (kind, fix), "{given}");
        assert_eq!(found.valid, given == "RR47312482 9GB", "{given}");
    }
}

/// S10-12's ranges, as its published descriptions give them.
#[test]
fn an_s10_number_tells_its_service_and_country() {
    let said = |given: &str| identify(given).meaning();
    assert_eq!(said("RR473124829GB"), "UPU S10, registered letter post, posted in GB");
    assert_eq!(said("RR473124829XX"), "UPU S10, registered letter post, no country `XX`");
    assert_eq!(said("9261290336128704042634"), "US package identifier, 22 digits");
    assert_eq!(said("12345"), "no tracking number that is known here");
}

#[test]
fn what_is_neither_is_said_to_be_neither() {
    for given in ["", "hello", "12345", "RB12345678GB", "RB1234567850GB", "]C", "４２０"] {
        assert_eq!(identify(given).kind, None, "{given}");
    }
}
