//! What a rug costs, by hand.
use super::{inches, plan, small};
use thrumhall::planning::RugSpec;
use thrumhall::planning::cost::{Cost, Money, Paid, Price, Prices};
use thrumhall::planning::warp::yarn::Yarn;
use thrumhall::units::{Length, Mass};

fn prices() -> Prices {
    Prices {
        currency: "$".to_owned(),
        rod: Some(Price { price: Money(300), per: inches(72.0) }),
        liner: Some(Price { price: Money(1200), per: (inches(24.0), inches(60.0)) }),
        thread: Some(Price { price: Money(250), per: Length::millimetres(100_000.0) }),
        yarn: Some(Price { price: Money(900), per: Mass::from_grams(500.0) }),
    }
}

#[test]
fn each_rug_pays_its_share_of_what_is_bought() {
    let yarn =
        Yarn { length: Length::millimetres(125_000.0), mass: Mass::from_grams(200.0), thickness: None };
    let spec = RugSpec { warp_yarn: Some(yarn), backing: Some(inches(1.0)), ..RugSpec::plain(small()) };
    let told = plan(&spec);
    let cost = Cost::of(&told, spec.backing, &prices());
    let get = |paid: Paid| cost.parts.iter().find(|part| part.0 == paid).map(|part| part.1.0);
    // Two rods of 36 in from one bar of 72 in.
    assert_eq!(get(Paid::Rods), Some(300));
    // 16 × 30 in of 24 × 60 in: a third.
    assert_eq!(get(Paid::Liner), Some(400));
    let thread = told.finish.thread.p90.metres() / 100.0 * 250.0;
    assert_eq!(get(Paid::Thread), Some(thread.round() as i64));
    let yarn = told.warp.yarn.unwrap().mass.p90.grams() / 500.0 * 900.0;
    assert_eq!(get(Paid::Yarn), Some(yarn.round() as i64));
    assert!((140..=180).contains(&get(Paid::Yarn).unwrap()), "some 90 g: {yarn}");
    assert_eq!(cost.total.0, cost.parts.iter().map(|part| part.1.0).sum::<i64>());
}

#[test]
fn what_a_rug_has_not_costs_nothing() {
    let plain = plan(&RugSpec::plain(small()));
    let parts = |prices: &Prices| Cost::of(&plain, None, prices).parts;
    assert_eq!(parts(&prices()), [(Paid::Rods, Money(300))], "no backing, and a warp of cloth");
    let bar = |inches_long: f64| Prices {
        rod: Some(Price { price: Money(300), per: inches(inches_long) }),
        ..Prices::default()
    };
    assert_eq!(parts(&bar(36.0)), [(Paid::Rods, Money(600))]);
    assert_eq!(parts(&bar(80.0)), [(Paid::Rods, Money(300))]);
    assert_eq!(parts(&bar(108.0)), [(Paid::Rods, Money(200))]);
    assert_eq!(parts(&bar(35.0)), [], "too short for a rod");
    assert_eq!(Cost::of(&plain, None, &Prices::default()).total, Money(0));
}

#[test]
fn amounts_are_read_and_shown() {
    for (typed, hundredths) in [
        ("4", 400),
        ("4.5", 450),
        ("4.50", 450),
        ("4,05", 405),
        ("0.07", 7),
        ("0", 0),
        ("100000", 10_000_000),
    ] {
        assert_eq!(Money::parse(typed), Some(Money(hundredths)), "{typed}");
    }
    for typed in ["", ".", ".5", "4.505", "-1", "4 50", "four", "100000.01", "1000000", "1e3", "４"] {
        assert_eq!(Money::parse(typed), None, "{typed}");
    }
    let show =
        |currency: &str| Prices { currency: currency.to_owned(), ..Prices::default() }.show(Money(405));
    assert_eq!([show("$"), show("EUR"), show("")], ["$4.05", "4.05\u{a0}EUR", "4.05"]);
    assert!(Prices::default().is_empty() && !prices().is_empty());
}
