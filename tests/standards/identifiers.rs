//! Tracking numbers against vectors of the two standards.

use dawnpack::plan::tracking::{Kind, identify};

use super::data::table;

/// UPU S10-12 (approved 17 October 2017); each vector's own source stands in its row.
#[test]
fn s10_numbers_are_told_right_from_wrong() {
    let mut seen = 0;
    for row in table("s10_vectors.csv").iter().filter(|row| row["expect_valid"] != "serial-only") {
        let found = identify(&row["identifier"]);
        assert_eq!(found.valid, row["expect_valid"] == "true", "{row:?}");
        let s10 = row["note"] != "format: no letters";
        assert_eq!(found.kind, s10.then_some(Kind::UpuS10), "{row:?}");
        seen += 1;
    }
    assert_eq!(seen, 18);
    // Of two vectors only the serial is published; with any letters and country they must hold.
    assert!(identify("LX966331020DE").valid && identify("LX761294038DE").valid);
}

/// USPS package identifiers; each vector's own source stands in its row. The number is told without its routing.
#[test]
fn us_package_identifiers_are_told_right_from_wrong() {
    let rows = table("impb_vectors.csv");
    assert_eq!(rows.len(), 27);
    for row in rows {
        let found = identify(&row["full_number"]);
        assert_eq!(found.kind, Some(Kind::UsPackage), "{row:?}");
        assert_eq!(found.valid, row["expect_valid"] != "false", "{row:?}");
        assert_eq!(found.number, row["pic"], "{row:?}");
        // As receipts and labels print it, and as a scanner sends it.
        let spaced: Vec<String> =
            row["full_number"].as_bytes().chunks(4).map(|four| String::from_utf8(four.to_vec()).unwrap()).collect();
        assert_eq!(identify(&spaced.join(" ")).number, row["pic"]);
        assert_eq!(identify(&format!("]C1{}", row["full_number"])).number, row["pic"]);
    }
}

/// GS1's weights 3 and 1 share no factor with 10: no single wrong digit passes. The 20 digits are left out, since
/// their check digit is taken with or without 91 and so catches eight wrong digits of nine.
#[test]
fn every_single_wrong_digit_of_a_us_package_identifier_is_caught() {
    for row in table("impb_vectors.csv").iter().filter(|row| row["check_passes"] == "true" && row["pic"].len() > 20) {
        for place in 0..row["pic"].len() {
            for digit in '0'..='9' {
                let mut wrong: Vec<char> = row["pic"].chars().collect();
                let right = wrong[place] == digit;
                wrong[place] = digit;
                let wrong: String = wrong.into_iter().collect();
                assert_eq!(identify(&wrong).valid, right, "{wrong}");
            }
        }
    }
}

/// S10's check digit is blind only where the standard makes it so: 5 stands for the remainders 0 and 6.
#[test]
fn a_wrong_digit_of_an_s10_number_passes_only_between_remainders_0_and_6() {
    let weights = [8, 6, 4, 2, 3, 5, 9, 7];
    let remainder = |number: &str| {
        let digits = number[2..10].chars().map(|c| c.to_digit(10).unwrap());
        digits.zip(weights).map(|(digit, weight)| digit * weight).sum::<u32>() % 11
    };
    let (mut wrong, mut passed) = (0, 0);
    for row in table("s10_vectors.csv").iter().filter(|row| row["expect_valid"] == "true") {
        for place in 2..11 {
            for digit in '0'..='9' {
                let mut number: Vec<char> = row["identifier"].chars().collect();
                if number[place] == digit {
                    continue;
                }
                number[place] = digit;
                let number: String = number.into_iter().collect();
                wrong += 1;
                if identify(&number).valid {
                    passed += 1;
                    let mut both = [remainder(&row["identifier"]), remainder(&number)];
                    both.sort_unstable();
                    assert_eq!(both, [0, 6], "{number} for {}", row["identifier"]);
                }
            }
        }
    }
    assert_eq!((passed, wrong), (41, 1215));
}
