// The tablet at the scale that volunteers share: opened for an evening, a name is tapped, weigh-ins are theirs, also those that waited
// for the network, nothing else is reached, it goes back to the names by itself, and an instructor ends it from elsewhere.
import assert from "node:assert/strict";
import { Visitor } from "../support/visitor.mjs";
import { Wire } from "../support/wire.mjs";

const NAMES = "/cloth/weigh-in/names";
const TABLET = { width: 1024, height: 768 };

export default async function tablet(step, house) {
  const wire = await Wire.to(house.demo.base);
  const instructor = await Visitor.come(house, { name: "the instructor", link: house.demo.links.instructor });
  const device = await Visitor.come({ ...house, base: wire.base }, { name: "the tablet", link: wire.base + new URL(house.demo.links.instructor).pathname });
  const { page } = device;
  device.home = TABLET;
  await page.setViewportSize(TABLET);
  let names;
  const tap = async (name) => {
    const came = page.waitForEvent("load");
    await page.getByRole("link", { name, exact: true }).click();
    await came;
  };
  const weigh = async (weight) => {
    for (const [name, value] of [["kind", "flannel"], ["colour", "navy"], ["washed", "yes"]]) {
      await page.locator(`[name=${name}][value=${value}]`).check({ force: true });
    }
    await page.locator("[name=weight]").fill(weight);
    await page.getByRole("button", { name: "Weigh in", exact: true }).click();
  };
  // Who weighed in what, as the record of changes has it, newest first.
  const record = async () => {
    const table = await instructor.page.evaluate(async () => (await fetch("/record.csv")).text());
    return table.replaceAll('"', "").split(/\r?\n/).filter((row) => row.includes(",tablet,"));
  };

  try {
    await step("an instructor adds a second volunteer, and opens the scale on a device for the evening", async () => {
      await instructor.open("/people/new");
      await instructor.page.locator("[name=role][value=volunteer]").check({ force: true });
      await instructor.field("Name").fill("Zelda Tray");
      await instructor.page.locator("[name=passphrase]").fill("seven herrings for a lamp");
      await instructor.page.locator("[name=again]").fill("seven herrings for a lamp");
      await Promise.all([instructor.page.waitForURL(/said=added/), instructor.page.locator("main form button").last().click()]);
      await device.open("/workroom");
      await device.follow("Tablet at the scale");
      assert.equal(await device.heading(), "Tablet at the scale");
      assert.match(await page.locator("[name=until]").inputValue(), /^\d\d:\d\d$/, "an end is proposed");
      await device.look("tablet-open");
      await device.press("Open the scale here");
      assert.equal(device.path(), NAMES);
      names = await page.locator(".names a").allInnerTexts();
      assert.ok(names.length >= 2 && names.includes("Zelda Tray"), names.join());
      await device.look("tablet-names");
      await page.screenshot({ path: `${house.artefacts}/tablet-names-1024.png` });
    });

    await step("whoever taps their name weighs in, and it is theirs", async () => {
      await tap("Zelda Tray");
      assert.equal(await page.locator("[data-standing-name]").innerText(), "Zelda Tray");
      const loaded = page.waitForEvent("load");
      await weigh("6101 g");
      await loaded;
      assert.match(await page.locator("#evening").innerText(), /Zelda Tray/);
      await device.look("tablet-scale");
      await page.screenshot({ path: `${house.artefacts}/tablet-scale-1024.png` });
      await page.getByRole("link", { name: "Somebody else" }).click();
      await page.waitForURL(`**${NAMES}`);
      const [first] = await record();
      assert.match(first, /Zelda Tray.*weighed in at/);
    });

    await step("nothing else is reached from it", async () => {
      for (const path of ["/", "/today", "/cloth", "/people", "/me", "/sign-in"]) {
        await page.goto(wire.base + path);
        assert.equal(device.path(), NAMES, path);
      }
      assert.equal(await page.evaluate(async () => (await fetch("/sign-out", { method: "POST" })).status).catch(() => 403), 403);
      device.complaints.length = 0;
    });

    await step("without a network the names can be tapped all the same, and each weigh-in waits as theirs", async () => {
      await tap(names.find((name) => name !== "Zelda Tray"));
      await page.evaluate(async () => navigator.serviceWorker.ready);
      await page.waitForFunction(async () => (await (await caches.open("weigh-in")).match("/cloth/weigh-in?offline=yes")) !== undefined);
      await wire.cut();
      device.cut = true;
      await weigh("6102 g");
      await page.locator("[data-wait-state]", { hasText: "1 waits" }).waitFor();
      await page.getByRole("link", { name: "Somebody else" }).click();
      await page.getByRole("button", { name: "Zelda Tray", exact: true }).click();
      assert.equal(await page.locator("[data-standing-name]").innerText(), "Zelda Tray");
      await weigh("6103 g");
      await page.locator("[data-wait-state]", { hasText: "2 wait" }).waitFor();
      await page.reload();
      // Nobody stands there after a reload: the names come first.
      await page.locator("[data-names-offline] h1").waitFor();
      await page.screenshot({ path: `${house.artefacts}/tablet-offline-1024.png` });
      await page.getByRole("button", { name: "Zelda Tray", exact: true }).click();
      await page.locator("[data-wait-state]", { hasText: "2 wait" }).waitFor();
      await wire.mend();
      await page.evaluate(() => window.dispatchEvent(new Event("online")));
      await page.locator("[data-wait-words]", { hasText: "All is sent" }).waitFor({ timeout: 40_000 });
      device.cut = false;
      device.complaints.length = 0;
      const [second, first] = await record();
      assert.match(second, /Zelda Tray/);
      assert.ok(!first.includes("Zelda Tray"), first);
    });

    await step("after some idle minutes it goes back to the names by itself", async () => {
      await page.clock.install();
      await page.goto(`${wire.base}${NAMES}`);
      await tap("Zelda Tray");
      await page.clock.fastForward("03:30");
      await page.locator("[name=weight]").press("5");
      await page.clock.fastForward("03:30");
      assert.match(page.url(), /by=/, "it was in use");
      await Promise.all([page.waitForURL(`**${NAMES}`), page.clock.fastForward("01:00")]);
    });

    await step("any instructor ends it from elsewhere", async () => {
      await instructor.open("/me");
      await instructor.look("me-with-tablet");
      await instructor.press("End it");
      await page.goto(`${wire.base}${NAMES}`);
      assert.equal(device.path(), "/sign-in");
      await instructor.leave();
      await page.context().close();
    });
  } finally {
    if (wire.server.listening) await wire.cut();
  }
}
