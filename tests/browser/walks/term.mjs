// A term: a weaver is enrolled, the timetable is worked out and accepted, a frame is handed out by it, an evening is logged,
// somebody drops out, the timetable is worked out again, the frame comes back, and the term is closed.
import assert from "node:assert/strict";
import { Visitor } from "../support/visitor.mjs";

export default async function term(step, house) {
  const me = await Visitor.come(house, { name: "the instructor", link: house.demo.links.instructor });
  let path;
  let first;

  await step("the class is full and somebody waits; the term leads to its timetable, which holds", async () => {
    await me.open("/terms");
    path = await me.page.locator("main a[href^='/terms/']").evaluateAll(
      (links) => links.map((link) => link.getAttribute("href")).find((href) => /^\/terms\/[0-9a-f-]{36}$/.test(href)),
    );
    await me.open(path);
    assert.match(await me.page.locator("main").innerText(), /21 of 21, full/);
    assert.equal(await me.page.locator(".waiting li").count(), 1);
    await me.look("term");
    await me.follow("Timetable");
    assert.match(await me.page.locator("main").innerText(), /Accepted/);
    await me.look("timetable-held");
  });

  await step("what is wanted and who won't come is written down", async () => {
    await me.follow("Wishes and absences");
    await me.look("turns");
    await me.page.locator("select[name^=urgent-]").last().selectOption("3");
    await me.press("Save the wishes");
    await me.page.locator("input[name=absent]").nth(1).check();
    await me.press("Save who won’t come");
    assert.ok(await me.page.locator("input[name=absent]").nth(1).isChecked());
  });

  await step("it is worked out: who gets a turn, who not and why, and what would help", async () => {
    await me.open(`${path}/timetable/new`);
    await me.look("timetable-new");
    const told = await me.page.locator("main").innerText();
    assert.match(told, /\d+ of \d+ rugs get their turn/);
    assert.match(told, /With one more (frame|meeting|pair)/);
    assert.equal(await me.page.locator("figure.wall svg").count(), 1);
    await me.press("Accept this timetable");
    await me.look("timetable");
    assert.ok((await me.page.locator("#tell li").count()) > 0, "nobody is to be told");
    await me.page.locator("#tell button").first().click();
    await me.page.waitForLoadState();
  });

  await step("the hand-out follows it", async () => {
    await me.open("/today");
    const turn = me.page.locator(".acts li", { hasText: "its turn" }).first();
    first = (await turn.locator("strong").innerText()).trim();
    await turn.getByRole("link", { name: /^Hand out a frame/ }).click();
    await me.page.waitForLoadState();
    assert.match(await me.page.locator(".lead").innerText(), /By the timetable: frame/);
    await me.look("hand-out-by-timetable");
    await me.press("Hand it out");
    assert.match(me.path(), /^\/loans\//);
  });

  await step("a frame given out of turn says whose turn it breaks", async () => {
    await me.open(`${path}/timetable`);
    const rows = await me.page.locator("#places tbody tr").evaluateAll((all) =>
      all.map((row) => [row.querySelector("th").innerText, row.querySelector("[data-label=Weaver]").innerText]),
    );
    const without = await me.page.locator("section", { hasText: "Without a turn" }).locator("a[href^='/rugs/']").first();
    await me.open(`${await without.getAttribute("href")}/hand-out`);
    const offered = await me.page.locator("label:has([name=frame])").evaluateAll((all) =>
      all.map((label) => label.querySelector("span").innerText.split(/\s/)[0]),
    );
    const promised = rows.find(([tag, weaver]) => weaver !== first && offered.includes(tag));
    assert.ok(promised, "no frame that is in is promised to anybody");
    await me.page.locator("label:has([name=frame])").nth(offered.indexOf(promised[0])).click();
    await me.expecting(422, () => me.press("Hand it out"));
    assert.match(await me.page.locator("#against-error").innerText(), new RegExp(`Against the timetable: ${promised[1]}`));
    await me.look("hand-out-against");
  });

  await step("somebody drops out, and as few others as can be are moved", async () => {
    await me.open(path);
    const withdraw = me.page.locator("form[action$='/withdraw'] button").first();
    await withdraw.click();
    await me.page.waitForLoadState();
    // Who waits gets the place, and a message that says so.
    const next = (await me.page.locator(".waiting li a").first().innerText()).trim();
    await me.press(`Give a place to ${next}`);
    await me.open("/messages");
    const message = me.page.locator(".message", { hasText: next });
    assert.match(await message.locator("textarea").inputValue(), /A place in Ebb to Flood is free, and it’s yours/);
    assert.match(await message.getByRole("link", { name: /^Text/ }).getAttribute("href"), /^sms:5550122\?body=Hello%20Veda/);
    await me.look("messages");
    await message.getByRole("button", { name: /^I told them/ }).click();
    await me.page.waitForLoadState();
    assert.equal(await me.page.locator(".message", { hasText: next }).count(), 0);
    await me.open(`${path}/timetable`);
    await me.look("timetable-broken");
    await me.open(`${path}/timetable/new`);
    await me.look("timetable-anew");
    await me.press("Accept this timetable");
    assert.doesNotMatch(await me.page.locator("main").innerText(), /no longer weaves/);
  });

  await step("an evening is logged, and the frame comes back", async () => {
    await me.open("/rugs");
    const rug = me.page.getByRole("row").filter({ hasText: first }).locator("a[href^='/rugs/']").first();
    await me.open(`${await rug.getAttribute("href")}/log`);
    await me.page.getByLabel("Rows so far").fill("8");
    await me.press("Log it");
    await me.open("/loans");
    const row = me.page.getByRole("row").filter({ hasText: first }).first();
    const loan = await row.locator("a[href^='/loans/']").first().getAttribute("href");
    await me.open(`${loan.split(/[/?]take-back|[?]/)[0]}/take-back`);
    await me.page.locator("main form button").last().click();
    await me.page.waitForLoadState();
    assert.match(await me.page.locator("main").innerText(), /Next in line/);
    await me.look("taken-back");
  });

  await step("the term is closed with what is still out in sight, and opened again", async () => {
    await me.open(path);
    await me.follow("Close the term");
    assert.match(await me.page.locator("main").innerText(), /Still out/);
    await me.look("term-end");
    await me.press("Close the term");
    assert.match(me.page.url(), /said=term-closed/);
    await me.open(`${path}/close`);
    await me.press("Open it again");
    await me.leave();
  });
}
