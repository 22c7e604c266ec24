// Cloth on its way through the class: the volunteer weighs it in, the instructor shares it out and chooses one part by
// hand, the volunteer pulls it by weight, and the weaver finds it on the rug's page and on the card.
import assert from "node:assert/strict";
import { Visitor } from "../support/visitor.mjs";

export default async function cloth(step, house) {
  const { links } = house.demo;
  const volunteer = await Visitor.come(house, { name: "the volunteer", link: links.volunteer });
  const instructor = await Visitor.come(house, { name: "the instructor", link: links.instructor });
  const weaver = await Visitor.come(house, { name: "the weaver", link: links.weaver, device: "phone" });
  const rug = weaver.path();
  const name = await weaver.heading();
  let tag;
  let shareOut;

  await step("the volunteer weighs in what a rug will run out of", async () => {
    assert.match(await weaver.page.locator(".lasting").innerText(), /Navy\s+(will run out|(un)?likely to last: \d of 10)/);
    await volunteer.open("/cloth/weigh-in");
    for (const label of ["Percale sheet", "Navy", "Washed"]) {
      await volunteer.page.getByLabel(label, { exact: true }).check();
    }
    await volunteer.page.getByLabel("Pounds", { exact: true }).fill("1 lb 4 oz");
    await volunteer.press("Weigh in");
    tag = (await volunteer.page.locator(".tag-number b").innerText()).trim();
  });

  await step("the instructor picks that rug, and the program finds cloth for it", async () => {
    await instructor.open("/share-out");
    await instructor.look("share-out");
    for (const box of await instructor.page.locator("input[name=rug]").all()) await box.uncheck();
    await instructor.page.locator(`[id="rug-${rug.split("/").pop()}"]`).check();
    await instructor.press("Share out");
    await instructor.page.getByRole("button", { name: "Accept: promise this cloth" }).waitFor({ timeout: 30_000 });
    shareOut = instructor.path();
    assert.match(await instructor.page.locator("main").innerText(), /no share-out is better/i);
    await instructor.look("share-out-proposal");
  });

  await step("one part is chosen by hand; more than is free is refused, and what was typed stays", async () => {
    const part = instructor.page.locator("tr[id^=part-]", { hasText: "Navy" }).first();
    await part.getByRole("link", { name: "Choose by hand" }).click();
    await instructor.page.waitForLoadState();
    await instructor.look("share-out-choose");
    for (const field of await instructor.page.locator("input[name^=take-]").all()) await field.fill("");
    const take = instructor.page.getByLabel(`Take of bundle ${tag}`);
    await take.fill("50 lb");
    await instructor.expecting(422, () => instructor.press("Keep this choice"));
    assert.equal(await take.inputValue(), "50 lb");
    await instructor.look("share-out-choose-refused");
    await take.fill("3 oz");
    await instructor.press("Keep this choice");
    assert.match(await instructor.page.locator("tr[id^=part-]", { hasText: "Navy" }).innerText(), /3 oz of bundle/);
    await instructor.press("Accept: promise this cloth");
    assert.equal(instructor.path(), shareOut);
    await instructor.look("share-out-accepted");
  });

  await step("the volunteer pulls it by what the scale says", async () => {
    await volunteer.open("/pull");
    await volunteer.look("pull");
    const row = volunteer.page.getByRole("row").filter({ hasText: name }).filter({
      has: volunteer.page.getByRole("rowheader", { name: tag, exact: true }),
    });
    await row.getByRole("link", { name: /^By itself/ }).click();
    await volunteer.page.waitForLoadState();
    await volunteer.look("promise");
    await volunteer.page.locator("#pull_weight").fill("3.25 oz");
    await volunteer.page.locator("form[action$='/pull'] button").click();
    await volunteer.page.waitForURL(/said=pulled/);
  });

  await step("the weaver sees it on the rug's page and on the card", async () => {
    await weaver.open(rug);
    assert.match(await weaver.page.locator("#promised").innerText(), new RegExp(`\\b${tag}\\b`));
    await weaver.look("weaver-promised");
    await weaver.open(`${rug}/card`);
    assert.match(await weaver.page.locator("main").innerText(), new RegExp(`Bundle ${tag}\\b`, "i"));
    for (const one of [volunteer, instructor, weaver]) await one.leave();
  });
}
