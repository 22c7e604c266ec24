// A weigh-in evening: thirty bundles by keyboard alone, and the network away for five of them. None is lost, none doubled.
import assert from "node:assert/strict";
import { choose, evening, tabTo } from "../support/station.mjs";
import { Visitor } from "../support/visitor.mjs";

const BUNDLES = 30;
// The network is away for these, counted from 0.
const AWAY = { from: 12, to: 17 };

// Each weighs something else, so that each can be told from the others: 400 g, 411 g …
const grams = (n) => 400 + 11 * n;

export default async function weighInEvening(step, house) {
  const instructor = await Visitor.come(house, { name: "the instructor", link: house.demo.links.instructor });
  const me = await Visitor.come(house, { name: "the volunteer", link: house.demo.links.volunteer });
  const came = await weights(instructor);
  let before;
  let slowest = 0;

  async function weigh(n, { alone = false } = {}) {
    const begun = performance.now();
    // Every third is of the same cloth as the one before: one link, then the weight.
    const same = !alone && n % 3 === 1;
    if (same) {
      await tabTo(me, "a[href*='like=']");
      const came = me.page.waitForEvent("load");
      await me.page.keyboard.press("Enter");
      await came;
      assert.ok(await me.page.evaluate(() => document.activeElement.matches("[name=weight]")), "the weight waits");
    } else {
      if (!(await me.page.locator("[name=kind]:checked").count())) await choose(me, "kind");
      if (!(await me.page.locator("[name=colour]:checked").count())) await choose(me, "colour");
      await tabTo(me, "[name=weight]");
    }
    await me.page.keyboard.type(`${grams(n)} g`);
    if (!(await me.page.locator("[name=washed]:checked").count())) await choose(me, "washed");
    if (alone) {
      await me.page.keyboard.press("Enter");
      return;
    }
    const loaded = me.page.waitForEvent("load");
    await me.page.keyboard.press("Enter");
    await loaded;
    slowest = Math.max(slowest, performance.now() - begun);
  }

  await step(`${AWAY.from} bundles are weighed in by keyboard alone`, async () => {
    await me.open("/cloth/weigh-in");
    before = await evening(me);
    for (let n = 0; n < AWAY.from; n += 1) await weigh(n);
    assert.equal((await evening(me)).bundles, before.bundles + AWAY.from);
  });

  await step("with the network away five more wait on the device, and say so", async () => {
    // A colour is chosen while the page is there; it stays for what follows.
    await choose(me, "colour");
    await me.network(false);
    for (let n = AWAY.from; n < AWAY.to; n += 1) {
      await weigh(n, { alone: true });
      await me.page.locator(`[data-wait-list] li >> nth=${n - AWAY.from}`).waitFor();
    }
    assert.match(await me.page.locator("[data-wait-words]").innerText(), /wait on this device/);
    assert.equal(await me.page.locator("[data-wait-list] li").count(), AWAY.to - AWAY.from);
  });

  await step("back on the network they are sent once, each with the number for its tape", async () => {
    await me.network(true);
    await me.page.locator("[data-wait-words]", { hasText: "All is sent" }).waitFor({ timeout: 40_000 });
    const told = await me.page.locator("[data-wait-list] a").allInnerTexts();
    assert.equal(told.length, AWAY.to - AWAY.from);
    assert.equal(new Set(told.map((line) => line.split(":")[0])).size, told.length, "each has a number of its own");
    await me.look("weigh-in-sent");
  });

  await step("the rest of the thirty follow", async () => {
    for (let n = AWAY.to; n < BUNDLES; n += 1) await weigh(n);
    assert.equal((await evening(me)).bundles, before.bundles + BUNDLES);
    // Ten seconds a bundle is the aim; a machine types faster than people, so this only finds what blocks.
    assert.ok(slowest < 10_000, `the slowest took ${Math.round(slowest)} ms`);
  });

  await step("a press while what waited is being sent has its turn, and what another window adds is kept", async () => {
    await me.network(false);
    if (!(await me.page.locator("[name=colour]:checked").count())) await choose(me, "colour");
    await weigh(BUNDLES, { alone: true });
    await me.page.locator("[data-wait-list] li").waitFor();
    let go;
    const held = new Promise((resolve) => { go = resolve; });
    const isSent = (request) => request.method() === "POST" && request.resourceType() === "fetch";
    await me.page.route("**/cloth/weigh-in", async (route) => {
      if (isSent(route.request())) await held;
      await route.continue();
    });
    const sending = me.page.waitForRequest(isSent, { timeout: 40_000 });
    await me.network(true);
    await sending;
    await me.page.evaluate((weight) => {
      const place = "weigh-ins that wait";
      const waiting = JSON.parse(localStorage.getItem(place));
      const other = new URLSearchParams(waiting[0].body);
      other.set("weight", weight);
      other.set("key", crypto.randomUUID());
      localStorage.setItem(place, JSON.stringify([...waiting, { ...waiting[0], body: other.toString() }]));
    }, `${grams(BUNDLES + 1)} g`);
    await tabTo(me, "[name=weight]");
    await me.page.keyboard.type(`${grams(BUNDLES + 2)} g`);
    const loaded = me.page.waitForEvent("load");
    await me.page.keyboard.press("Enter");
    go();
    await loaded;
    await me.page.unroute("**/cloth/weigh-in");
    assert.equal(await me.page.evaluate(() => localStorage.getItem("weigh-ins that wait")), "[]");
  });

  await step("none is lost and none doubled: each weight came in once", async () => {
    const after = await weights(instructor);
    for (const weight of came) {
      const at = after.indexOf(weight);
      if (at >= 0) after.splice(at, 1);
    }
    const wanted = Array.from({ length: BUNDLES + 3 }, (_, n) => grams(n));
    assert.deepEqual(after.sort((a, b) => a - b), wanted);
    await me.leave();
    await instructor.leave();
  });
}

// What every bundle weighs now, in grams, as the list of the shelf to take away has it.
async function weights(visitor) {
  // Every cell has its quotes; those of this list hold none.
  const table = (await visitor.page.evaluate(async () => (await fetch("/cloth.csv")).text())).replaceAll('"', "");
  const [head, ...lines] = table.trim().split(/\r?\n/);
  const at = head.split(",").findIndex((name) => name.startsWith("weigh"));
  assert.ok(at >= 0, head);
  return lines.map((line) => Number(line.split(",")[at]));
}
