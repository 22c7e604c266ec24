// The volunteer at the scale: three bundles by keyboard alone, a weight that could mean two things, and an undo.
import assert from "node:assert/strict";
import { choose, evening, tabTo } from "../support/station.mjs";
import { Visitor } from "../support/visitor.mjs";

// One weight in three notations, in ounces: 1 oz = 28.349523125 g (NIST SP 811, 2008, appendix B).
const HEAP = [
  ["2 lb 3.5 oz", 35.5],
  ["35.5oz", 35.5],
  ["1006 g", 1006 / 28.349523125],
];

export default async function volunteer(step, house) {
  const me = await Visitor.come(house, { name: "the volunteer", link: house.demo.links.volunteer });
  const tags = new Set();
  let before;
  let after;

  await step("the link leads to the scale", async () => {
    assert.equal(me.path(), "/cloth/weigh-in");
    before = await evening(me);
    await me.look("weigh-in");
  });

  for (const [weight, ounces] of HEAP) {
    await step(`${weight} is weighed in without a mouse`, async () => {
      const had = await evening(me);
      await choose(me, "kind");
      await choose(me, "colour");
      await tabTo(me, "[name=weight]");
      await me.page.keyboard.type(weight);
      await choose(me, "washed");
      const came = me.page.waitForEvent("load");
      await me.page.keyboard.press("Enter");
      await came;
      tags.add(await me.page.locator(".tag-number b").innerText());
      const has = await evening(me);
      assert.equal(has.bundles, had.bundles + 1);
      // The total is shown to the half ounce.
      assert.ok(Math.abs(has.ounces - had.ounces - ounces) <= 0.5, `${had.ounces} oz became ${has.ounces} oz`);
    });
  }

  await step("each has a tag of its own, and they are counted", async () => {
    assert.equal(tags.size, HEAP.length);
    after = await evening(me);
    assert.equal(after.bundles, before.bundles + HEAP.length);
    await me.look("weigh-in-done");
    await me.page.setViewportSize({ width: 390, height: 844 });
    await me.portray("weigh-in");
    await me.page.setViewportSize(me.home);
  });

  await step("1,006 kg is asked about, never guessed", async () => {
    await choose(me, "colour");
    await me.page.locator("[name=weight]").fill("1,006 kg");
    await me.expecting(422, () => me.press("Weigh in"));
    assert.equal(await me.page.locator("[name=weight]").inputValue(), "1,006 kg");
    assert.match(await me.page.locator("#weight-error").innerText(), /1\.006 kg.*1006 kg/);
    await me.look("weigh-in-refused");
  });

  await step("the last one is undone, and the form is ready to do it again", async () => {
    await me.open("/cloth/weigh-in");
    const tag = [...tags].at(-1);
    await me.page.getByRole("row").filter({ hasText: tag }).getByRole("link").first().click();
    await me.page.waitForLoadState();
    await me.look("bundle");
    await me.page.goBack();
    await choose(me, "kind");
    await choose(me, "colour");
    await choose(me, "washed");
    await me.page.locator("[name=weight]").fill("12 oz");
    await me.press("Weigh in");
    assert.equal((await evening(me)).bundles, after.bundles + 1);
    const last = await me.page.locator(".tag-number b").innerText();
    await me.press(`Undo ${last}`);
    assert.equal((await evening(me)).bundles, after.bundles);
    assert.equal(await me.page.locator("[name=weight]").inputValue(), "12 oz");
    await me.look("weigh-in-undone");
  });

  await step("on a phone all that is asked each time is on one screen, and twelve bundles take few taps", async () => {
    const phone = await Visitor.come(house, { name: "the volunteer on a phone", link: house.demo.links.volunteer, device: "phone" });
    const bar = await phone.page.locator(".scale-bar").boundingBox();
    assert.ok(bar.y + bar.height <= 844.5, "weight and button stay at the bottom");
    const shown = phone.page.locator(".scale-what label.choice:visible");
    assert.ok((await shown.count()) >= 18, `${await shown.count()} choices`);
    const lowest = await shown.evaluateAll((all) => Math.max(...all.map((one) => one.getBoundingClientRect().bottom)));
    assert.ok(lowest <= bar.y, `the last choice ends at ${lowest}, the bar begins at ${bar.y}`);
    const values = (name) => phone.page.locator(`.scale-what label.choice:visible [name=${name}]`).evaluateAll((all) => all.map((one) => one.value));
    const [kinds, colours] = [await values("kind"), await values("colour")];
    await phone.look("weigh-in-phone");
    let [taps, keys, kind] = [0, 0, ""];
    const tap = async (target) => {
      await phone.page.locator(target).click();
      taps += 1;
    };
    const type = async (text) => {
      await phone.page.keyboard.type(text);
      keys += text.length;
    };
    const began = Date.now();
    for (let i = 0; i < 12; i += 1) {
      const wanted = kinds[Math.floor(i / 3) % 3];
      if (wanted !== kind) await tap(`label.choice:has([name=kind][value=${wanted}])`);
      kind = wanted;
      await tap(`label.choice:has([name=colour][value=${colours[i]}])`);
      await tap("#weight");
      await type(String(1 + (i % 4)));
      await tap("#weight_oz");
      await type("3.5");
      if (i === 0) await tap("label.choice:has([name=washed][value=yes])");
      const came = phone.page.waitForEvent("load");
      await tap(".scale-bar .button");
      await came;
      assert.match(await phone.page.locator(".tag-number").innerText(), new RegExp(`${1 + (i % 4)} lb 3\\.5 oz`));
    }
    console.log(`    twelve mixed bundles: ${taps} taps, ${keys} keys, ${((Date.now() - began) / 12000).toFixed(1)} s each by machine`);
    assert.ok(taps <= 60, `${taps} taps`);
    await phone.look("weigh-in-phone-done");
    const next = await phone.page.locator(".scale-bar .button").boundingBox();
    assert.ok(next.y + next.height <= 844.5, "the next is ready");
    await phone.leave();
  });

  await step("the shelf finds what was weighed in", async () => {
    await me.open("/cloth");
    await me.look("shelf");
    await me.page.locator("[name=q]").fill([...tags][0]);
    await me.press("Find");
    assert.ok((await me.page.getByRole("rowheader", { name: [...tags][0], exact: true }).count()) >= 1);
    await me.leave();
  });
}
