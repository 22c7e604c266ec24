// What doesn't fit a frame, a shelf or a rod: a rug of panels, sheets to cut, a frame to build, rods to buy.
import assert from "node:assert/strict";
import { Paper } from "../support/paper.mjs";
import { Visitor } from "../support/visitor.mjs";

export default async function sizes(step, house) {
  const me = await Visitor.come(house, { name: "the instructor", link: house.demo.links.instructor });
  const told = () => me.page.locator("main").innerText();

  await step("a size that makes no sense comes back with what was typed", async () => {
    await me.open("/frames");
    await me.follow("A rug of any size");
    await me.field("Wanted width").fill("a yard");
    await me.field("Wanted length").fill("64 in");
    await me.expecting(422, () => me.press("See how it is pieced"));
    assert.equal(await me.field("Wanted width").inputValue(), "a yard");
    await me.look("any-size-refused");
  });

  await step("a rug larger than any frame is pieced from four, and planned for one weaver", async () => {
    await me.field("Wanted width").fill("36 in");
    await me.press("See how it is pieced");
    assert.match(await told(), /4 panels, 36 in × 64 in/);
    await me.look("any-size");
    await me.field("The rug’s name").fill("Long quay");
    await me.page.locator("#weaver").selectOption({ index: 1 });
    await me.press("Plan these rugs");
    assert.equal(me.path(), "/rugs");
    assert.match(await told(), /Long quay, panel 4 of 4/);
  });

  await step("the shelf's sheets for its warp, drawn with their cuts, on paper too", async () => {
    await me.follow("Long quay, panel 1 of 4");
    await me.follow("Which sheets to cut");
    assert.match(await told(), /Where to cut/);
    assert.ok((await me.page.locator("figure.drawing svg").count()) >= 1);
    await me.look("sheets");
    const paper = await Paper.print(me, "sheets", "A4");
    assert.match(paper.text(), /Where to cut/);
    assert.doesNotMatch(paper.text(), /Choose the sheets/);
  });

  await step("its weights follow the bundle it is cut from", async () => {
    await me.follow("Back to the rug");
    await me.follow("Use measured cloth");
    await me.page.locator("#warp").selectOption({ index: 1 });
    await me.look("rug-cloth");
    await me.press("Save");
    assert.match(await told(), /measured from bundle \d+/);
  });

  await step("a frame is laid out, and the rods for more of them are counted", async () => {
    await me.open("/frames");
    await me.follow("Build a frame");
    await me.field("Or nails per end (optional)").fill("37");
    await me.press("Lay it out");
    assert.match(await told(), /37 in the upper row/);
    await me.look("build");
    await me.open("/rods");
    await me.follow("Rods to buy");
    await me.field("Span 33 in: more frames (optional)").fill("6");
    await me.press("Work it out");
    assert.match(await told(), /Buy \d+ of 72 in/);
    await me.look("rods-to-buy");
    await me.leave();
  });
}
