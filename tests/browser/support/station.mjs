// The station at the scale, by keyboard alone.
import assert from "node:assert/strict";

// What the station says of this evening.
export async function evening(visitor) {
  const lead = visitor.page.locator("section[aria-labelledby=evening] .lead");
  if ((await lead.count()) === 0) return { bundles: 0, ounces: 0 };
  const [, bundles, weight] = /^(\d+) bundles?, (.+)\.$/.exec((await lead.innerText()).trim());
  return { bundles: Number(bundles), ounces: inOunces(weight) };
}

const PARTS = { "": 0, "1/4": 0.25, "1/2": 0.5, "3/4": 0.75 };

function inOunces(text) {
  const [, pounds = "0", ounces = "0", part = ""] = /^(?:(\d+) lb)? ?(?:(\d+(?!\/))? ?([13]\/[24])? oz)?$/.exec(text) ?? assert.fail(text);
  return Number(pounds) * 16 + Number(ounces || 0) + PARTS[part];
}

// Goes on with the Tab key until the control has the focus.
export async function tabTo(visitor, selector) {
  for (let i = 0; i < 120; i += 1) {
    await visitor.page.keyboard.press("Tab");
    if (await visitor.page.evaluate((wanted) => document.activeElement.matches(wanted), selector)) return;
  }
  assert.fail(`${selector} can't be reached by keyboard`);
}

// Chooses the second of a group of radios, as the keyboard does: Tab into the group, space, an arrow.
export async function choose(visitor, name) {
  await tabTo(visitor, `[name=${name}]`);
  await visitor.page.keyboard.press("Space");
  await visitor.page.keyboard.press("ArrowDown");
  await visitor.page.keyboard.press("ArrowUp");
}
