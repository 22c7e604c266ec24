//! Every link and form on a page leads to where its reader may go.
use scraper::{Html, Selector};

use super::class::class;
use super::routes::{Whose, addresses, routes, whose};

/// The addresses on a page: by which method, and where.
fn ways(text: &str) -> Vec<(String, String)> {
    let page = Html::parse_document(text);
    let select = |css| Selector::parse(css).unwrap();
    let mut ways = Vec::new();
    for link in page.select(&select("a[href]")) {
        ways.push(("GET".to_owned(), link.attr("href").unwrap().to_owned()));
    }
    for form in page.select(&select("form[action]")) {
        let method = form.attr("method").unwrap_or("get").to_uppercase();
        ways.push((method, form.attr("action").unwrap().to_owned()));
    }
    for button in page.select(&select("[formaction]")) {
        ways.push(("POST".to_owned(), button.attr("formaction").unwrap().to_owned()));
    }
    ways
}

#[tokio::test(flavor = "multi_thread")]
async fn no_page_offers_what_its_reader_may_not_do() {
    let class = class().await;
    let weaver = &[Whose::Public, Whose::Own, Whose::OwnThing][..];
    let staff = &[Whose::Public, Whose::Own, Whose::OwnThing, Whose::Staff][..];
    let (mut seen, mut acts) = (0, 0);
    for (who, browser, may) in [
        ("a weaver", &class.ana.browser, weaver),
        ("a volunteer", &class.volunteer, staff),
        ("nobody", &class.world.stranger(), &[Whose::Public][..]),
    ] {
        for (_, route) in routes("GET") {
            for (_, address) in addresses(&class, route) {
                let page = browser.clone().get(&address).await;
                let html = page
                    .headers
                    .get("content-type")
                    .is_some_and(|kind| kind.to_str().unwrap().starts_with("text/html"));
                for (method, to) in ways(if html { &page.text } else { "" }) {
                    if !to.starts_with('/') {
                        continue;
                    }
                    let leads = whose(&method, &to);
                    let leads = leads
                        .unwrap_or_else(|| panic!("{address} leads to {method} {to}, which isn’t there"));
                    assert!(may.contains(&leads), "{who} is offered {method} {to} at {address}: {leads:?}");
                    seen += 1;
                    acts += usize::from(method == "POST");
                }
            }
        }
    }
    assert!(seen > 500 && acts > 20, "{seen} ways, {acts} of them acts");
}
