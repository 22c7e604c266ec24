//! The prices on the workroom's form: from what is kept to fields, and from what was typed to prices.
use crate::planning::cost::{Money, Price, Prices};
use crate::units::{Length, Mass, Units};
use crate::web::Form;

/// The most letters that a currency has.
const LETTERS: usize = 5;

/// The fields of prices, each with what it is called and what it holds.
pub(super) fn filled(prices: Option<&Prices>, units: Units) -> [(&'static str, &'static str, String); 10] {
    let none = Prices::default();
    let prices = prices.unwrap_or(&none);
    let money = |price: Option<Money>| price.map_or(String::new(), Money::plain);
    let length = |length: Option<Length>| length.map_or(String::new(), |length| length.exact(units));
    let Prices { currency, rod, liner, thread, yarn } = prices;
    [
        ("currency", "The money", currency.clone()),
        ("rod_price", "The price of a rod", money(rod.map(|rod| rod.price))),
        ("rod_length", "The length of a rod as bought", length(rod.map(|rod| rod.per))),
        ("liner_price", "The price of liner", money(liner.map(|liner| liner.price))),
        ("liner_width", "The width of liner as bought", length(liner.map(|liner| liner.per.0))),
        ("liner_length", "The length of liner as bought", length(liner.map(|liner| liner.per.1))),
        ("thread_price", "The price of thread", money(thread.map(|thread| thread.price))),
        ("thread_length", "The length of thread as bought", length(thread.map(|thread| thread.per))),
        ("yarn_price", "The price of warp yarn", money(yarn.map(|yarn| yarn.price))),
        (
            "yarn_mass",
            "The weight of yarn as bought",
            yarn.map_or(String::new(), |yarn| yarn.per.exact(units)),
        ),
    ]
}

/// The prices that were typed; nothing where none was, an error where one can't be read. A price wants to know for how much it is.
pub(super) fn read(form: &mut Form) -> Result<Option<Prices>, ()> {
    let currency = form.optional_text("currency", "The money", LETTERS);
    let long = |form: &mut Form, name: &str, most: f64| {
        form.length(name, Length::inches(1.0), Length::millimetres(most))
    };
    let rod = priced(form, "rod_price", &["rod_length"], |form| long(form, "rod_length", 20_000.0));
    let liner = priced(form, "liner_price", &["liner_width", "liner_length"], |form| {
        let (width, length) = (long(form, "liner_width", 20_000.0), long(form, "liner_length", 100_000.0));
        Some((width?, length?))
    });
    let thread =
        priced(form, "thread_price", &["thread_length"], |form| long(form, "thread_length", 20_000_000.0));
    let yarn = priced(form, "yarn_price", &["yarn_mass"], |form| {
        form.mass("yarn_mass", Mass::from_grams(1.0), Mass::from_grams(100_000.0))
    });
    let prices =
        Prices { currency: currency.ok_or(())?, rod: rod?, liner: liner?, thread: thread?, yarn: yarn? };
    Ok(Some(prices).filter(|prices| *prices != Prices::default()))
}

/// A price with how much one gets for it; none where no field of it is filled in, an error where one can't be read.
fn priced<T>(
    form: &mut Form,
    name: &str,
    pers: &[&str],
    per: impl FnOnce(&mut Form) -> Option<T>,
) -> Result<Option<Price<T>>, ()> {
    if form.is_empty(name) && pers.iter().all(|per| form.is_empty(per)) {
        return Ok(None);
    }
    let price = Money::parse(form.value(name).trim());
    if price.is_none() {
        let most = Money::MOST.plain();
        form.add_error(name, format!("A price is an amount such as 4.50, from 0 to {most}."));
    }
    let both = price.zip(per(form));
    both.map(|(price, per)| Some(Price { price, per })).ok_or(())
}
