// The scale with the network really gone: its page opens again, also after the browser was closed, nothing that waits is lost
// or doubled, what the workroom refuses says so, and signing out leaves nothing behind on the device.
import assert from "node:assert/strict";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { launchPersistent } from "../support/chromium.mjs";
import { Wire } from "../support/wire.mjs";

// What the device's reading of weights has to say the same of as the workroom's.
const WEIGHTS = [
  "2 lb 3.5 oz", "2.22 lb", "1006 g", "1.006 kg", "35.5oz", "1½ lb", "1 1/2 lb", "3/4 lb", "2 lb, 3 oz", "1,5 kg", "12,345.5 g",
  "1,006 kg", "1006", "-3 g", "0 g", "0.5 g", "0.04 oz", "0.05 oz", "3 oz 2 lb", "1 kg 3 oz", "1.5 lb 3 oz", "heavy", "2 stone", "201 lb", "100 kg",
  "90 kg", "1.2.3 kg", "2 lb 3", "½ oz", "1 / 0 lb", "3 oz.", "", "1 lb-2 oz", "2 KG", "two kg", "7 ⅛ oz", "1,234,567 g", ".5 kg", "5. kg", "1\u00a0kg",
];

export default async function offline(step, house) {
  const wire = await Wire.to(house.demo.base);
  const device = mkdtempSync(join(tmpdir(), "thrumhall-device-"));
  const complaints = [];
  let browser;
  let page;

  async function openBrowser() {
    browser = await launchPersistent(device);
    browser.setDefaultTimeout(20_000);
    page = browser.pages()[0] ?? (await browser.newPage());
    page.on("pageerror", (error) => complaints.push(error.message));
    await page.addInitScript(() => {
      document.addEventListener("securitypolicyviolation", (event) => console.error(`content policy: ${event.violatedDirective}`));
    });
    page.on("console", (message) => message.type() === "error" && message.text().includes("content policy") && complaints.push(message.text()));
  }
  async function enter(by) {
    await by.goto(wire.base + new URL(house.demo.links.volunteer).pathname);
    await by.locator("main form[action^='/enter/'] button").click();
    await by.waitForLoadState();
  }
  // The browser's own page of what failed before, or a page asked for twice, may still be on its way and cut this one short.
  async function go() {
    for (let tries = 1; ; tries += 1) {
      try {
        return await page.goto(`${wire.base}/cloth/weigh-in`);
      } catch (error) {
        if (tries === 6) throw error;
        await page.waitForTimeout(250 * tries);
      }
    }
  }
  const state = (text) => page.locator("[data-wait-state]", { hasText: text }).waitFor();
  const items = () => page.locator("[data-wait-list] li").count();
  async function weigh(weight, { whole = true } = {}) {
    if (whole) {
      for (const [name, value] of [["kind", "flannel"], ["colour", "navy"], ["washed", "yes"]]) {
        await page.locator(`[name=${name}][value=${value}]`).check({ force: true });
      }
    }
    await page.locator("[name=weight]").fill(weight);
    await page.getByRole("button", { name: "Weigh in", exact: true }).click();
  }
  const shelf = async () => {
    const table = await page.evaluate(async () => (await fetch("/cloth.csv")).text());
    return [7001, 7002, 7003].map((grams) => table.replaceAll('"', "").split("\n").filter((row) => row.includes(`,${grams},`)).length);
  };

  try {
    await step("the device and the workroom read weights alike", async () => {
      await openBrowser();
      await enter(page);
      await go();
      const differ = await page.evaluate(async (weights) => {
        const form = document.querySelector("[data-weigh-in]");
        const found = [];
        for (const weight of weights) {
          form.elements.weight.value = weight;
          const here = window.weighInCheck(form).some(([name]) => name === "weight");
          // Without a kind the workroom weighs nothing in.
          const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams({ weight, key: form.elements.key.value }) });
          const there = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("weight-error");
          if (here !== (there !== null)) found.push(`${weight}: ${here ? "refused" : "taken"} on the device, the workroom: ${there?.textContent}`);
        }
        form.elements.weight.value = "";
        return found;
      }, WEIGHTS);
      assert.deepEqual(differ, []);
      await page.evaluate(async () => navigator.serviceWorker.ready);
      assert.deepEqual(await shelf(), [0, 0, 0]);
    });

    await step("without a network the page opens again, and what isn't whole isn't left waiting", async () => {
      await wire.cut();
      await go();
      assert.equal(await page.locator("h1").innerText(), "Weigh in");
      assert.equal(await page.locator("header .who").count(), 0, "nobody is named on the page that is kept");
      await weigh("7001", { whole: false });
      await page.locator("#weight-error").waitFor();
      for (const name of ["kind", "colour", "washed", "weight"]) assert.ok(await page.locator(`#${name}-error`).isVisible(), name);
      assert.equal(await page.locator("[name=kind]").first().evaluate((one) => document.activeElement === one), true);
      assert.equal(await items(), 0);
      await weigh("7001 g");
      await state("1 waits");
      assert.equal(await page.locator(".field.wrong").count(), 0);
      await weigh("7002 g");
      await state("2 wait");
    });

    await step("they wait through a reload and through closing the browser", async () => {
      await page.reload();
      await state("2 wait");
      await browser.close();
      await openBrowser();
      await go();
      await state("2 wait");
      await weigh("7003 g");
      await state("3 wait");
    });

    await step("one that the workroom refuses says so, and nothing says that all is sent", async () => {
      // A note with a sign that can't be seen is refused by the workroom alone.
      await page.evaluate(() => {
        const place = "weigh-ins that wait";
        const waiting = JSON.parse(localStorage.getItem(place));
        const fields = new URLSearchParams(waiting[1].body);
        fields.set("note", "a\u202eb");
        waiting[1].body = fields.toString();
        localStorage.setItem(place, JSON.stringify(waiting));
      });
      await wire.mend();
      // On a device that others may use, being signed in ends with the browser.
      const other = await browser.newPage();
      await enter(other);
      await other.close();
      // A browser says so when a network is back; it doesn't know of this wire.
      await page.evaluate(() => window.dispatchEvent(new Event("online")));
      await state("Refused:");
      assert.equal(await page.locator("[data-wait-list] a").count(), 2);
      assert.ok(!(await page.locator("[data-wait]").innerText()).includes("All is sent"));
      assert.deepEqual(await shelf(), [1, 0, 1]);
      await page.reload();
      await state("Refused:");
      await page.screenshot({ path: join(house.artefacts, "weigh-in-refused.png"), fullPage: true });
      await page.getByRole("button", { name: "Correct it" }).click();
      assert.equal(await page.locator("[name=weight]").inputValue(), "7002 g");
      await page.locator("[name=note]").fill("mended");
      const loaded = page.waitForEvent("load");
      await page.getByRole("button", { name: "Weigh in", exact: true }).click();
      await loaded;
      assert.deepEqual(await shelf(), [1, 1, 1], "each once");
      assert.equal(await items(), 0);
    });

    await step("only the scale's page and its files are kept on the device", async () => {
      const kept = await page.evaluate(async () => (await (await caches.open("weigh-in")).keys()).map((one) => new URL(one.url).pathname));
      assert.ok(kept.length > 5 && kept.every((path) => path === "/cloth/weigh-in" || path.startsWith("/static/")), kept.join());
      await wire.cut();
      await assert.rejects(page.goto(`${wire.base}/cloth`));
      await go();
      await weigh("7004 g");
      await state("1 waits");
      await wire.mend();
    });

    await step("signing out warns of what waits, and leaves nothing behind", async () => {
      // Held back, so that it still waits.
      await page.route("**/healthz", (route) => route.abort());
      await go();
      await state("1 waits");
      const asked = [];
      let answer = false;
      page.on("dialog", (dialog) => {
        asked.push(dialog.message());
        return answer ? dialog.accept() : dialog.dismiss();
      });
      const out = page.getByRole("button", { name: "Sign out" });
      await out.click();
      assert.equal(asked.length, 1);
      assert.match(asked[0], /1 weigh-in that waits/);
      assert.match(page.url(), /weigh-in/);
      answer = true;
      await Promise.all([page.waitForURL(/sign-in/), out.click()]);
      const left = await page.evaluate(async () => [localStorage.length, (await caches.keys()).length, (await navigator.serviceWorker.getRegistrations()).length]);
      assert.deepEqual(left, [0, 0, 0]);
      await wire.cut();
      await assert.rejects(go());
      assert.deepEqual(complaints, []);
    });
  } finally {
    await browser?.close();
    if (wire.server.listening) await wire.cut();
    rmSync(device, { recursive: true, force: true });
  }
}
