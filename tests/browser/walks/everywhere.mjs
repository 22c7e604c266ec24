// Follows every link that each role is shown, and looks at one page of each shape.
import assert from "node:assert/strict";
import { Visitor } from "../support/visitor.mjs";

const MOST = 120;

export default async function everywhere(step, house) {
  for (const role of ["instructor", "volunteer", "weaver"]) {
    const me = await Visitor.come(house, { name: `the ${role}`, link: house.demo.links[role] });
    const seen = new Set();
    const waiting = [me.path()];
    while (waiting.length > 0) {
      const path = waiting.shift();
      const shape = shapeOf(path);
      if (seen.has(shape)) continue;
      seen.add(shape);
      assert.ok(seen.size <= MOST, `more than ${MOST} kinds of page for the ${role}: ${[...seen].join(" ")}`);
      await step(`${role}: ${shape}`, async () => {
        if (/\.(csv|json)(\?|$)/.test(path)) {
          assert.equal((await me.page.request.get(path)).status(), 200);
          return;
        }
        if (/\.pdf(\?|$)/.test(path)) {
          const answer = await me.page.request.get(path);
          assert.equal(answer.status(), 200);
          assert.equal(answer.headers()["content-type"], "application/pdf");
          return;
        }
        await me.open(path);
        await me.look(`${role}${shape.replaceAll(/[^\w]+/g, "-")}`);
        const links = await me.page.locator("a[href^='/']").evaluateAll((all) => all.map((a) => a.getAttribute("href")));
        waiting.push(...links.map((href) => href.replace(/#.*$/, "")));
      });
    }
    await me.leave();
  }
}

// One page stands for all that differ in their ids and what they ask for.
function shapeOf(path) {
  return path.replace(/[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}/g, "{id}").replace(/\?.*$/, "");
}
