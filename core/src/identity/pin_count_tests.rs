use super::*;

fn at(ms: i64) -> Timestamp {
    Timestamp::new(1_772_438_400_000 + ms, 60).unwrap()
}

fn after_wrong(count: u32) -> PinCount {
    let mut pins = PinCount::default();
    for _ in 0..count {
        pins.count_wrong(at(0));
    }
    pins
}

#[test]
fn the_wait_begins_after_three_and_doubles_up_to_the_lock_out() {
    for (wrong, wait_s) in
        [(0, 0), (1, 0), (2, 0), (3, 30), (4, 60), (5, 120), (6, 240), (7, 480), (8, 960), (9, 1920)]
    {
        let mut pins = after_wrong(wrong);
        let expected = if wait_s == 0 { PinGate::Open } else { PinGate::Wait { ms: wait_s * 1000 } };
        assert_eq!(pins.gate(at(0)), expected, "after {wrong}");
        if wait_s > 0 {
            assert_eq!(pins.gate(at(wait_s * 1000 - 1)), PinGate::Wait { ms: 1 });
        }
        assert_eq!(pins.gate(at(wait_s * 1000)), PinGate::Open);
        assert_eq!(pins.gate(at(wait_s * 1000 + 1)), PinGate::Open);
    }
}

#[test]
fn the_tenth_wrong_pin_locks_out_once_and_for_good() {
    let mut pins = after_wrong(9);
    assert!(pins.count_wrong(at(0)), "the tenth locks out");
    assert!(!pins.count_wrong(at(0)), "an eleventh does not lock out a second time");
    assert_eq!(pins.gate(at(1_000_000_000)), PinGate::LockedOut);
    pins.count_right();
    assert_eq!(pins.gate(at(0)), PinGate::LockedOut);
    assert_eq!(pins.wrong_count(), 10);
}

#[test]
fn a_right_pin_begins_anew() {
    let mut pins = after_wrong(9);
    pins.count_right();
    assert_eq!(pins, PinCount::default());
}

#[test]
fn a_clock_set_back_begins_the_wait_anew_instead_of_stretching_it() {
    let mut pins = after_wrong(3);
    let back = -365 * 86_400_000;
    assert_eq!(pins.gate(at(back)), PinGate::Wait { ms: 30_000 });
    assert_eq!(pins.gate(at(back + 29_999)), PinGate::Wait { ms: 1 });
    assert_eq!(pins.gate(at(back + 30_000)), PinGate::Open);
}
