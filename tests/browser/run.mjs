// Walks the service in a real browser, as each of its people, and prints `N passed, N failed` last.
//
//   node run.mjs                          on SQLite
//   node run.mjs --postgres URL           on PostgreSQL: makes databases beside the one named, and drops them
//   node run.mjs --only weaver            one walk (the name of its file)
//   node run.mjs --without everywhere     all but one
//   node run.mjs --pictures               also renews the pictures of the README
//   node run.mjs --binary PATH            another program than the release build
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { parseArgs } from "node:util";
import { launch } from "./support/chromium.mjs";
import { Databases } from "./support/databases.mjs";
import { Demo } from "./support/service.mjs";
import { Tally } from "./support/tally.mjs";
import { ROOT, binary } from "./support/places.mjs";

const { values: options } = parseArgs({
  options: {
    postgres: { type: "string" },
    only: { type: "string" },
    without: { type: "string" },
    pictures: { type: "boolean", default: false },
    binary: { type: "string", default: binary() },
  },
});

// The first begins with an empty database; the others share the demo.
const FIRST = "first-start";
const WALKS = [FIRST, "entry", "factor", "instructor", "volunteer", "evening", "offline", "tablet", "cloth", "stock", "term", "notices", "rows", "weaver", "designs", "sizes", "scriptless", "everywhere"];

const databases = new Databases(options.postgres);
const artefacts = join(ROOT, "artefacts", "browser", databases.kind);
mkdirSync(artefacts, { recursive: true });
const tally = new Tally();
const browser = await launch();
const house = { browser, databases, artefacts, binary: options.binary, pictures: options.pictures };
try {
  for (const name of WALKS.filter((walk) => (!options.only || walk === options.only) && walk !== options.without)) {
    if (name !== FIRST) house.demo ??= await Demo.start(options.binary, databases.fresh());
    const { default: walk } = await import(`./walks/${name}.mjs`);
    await tally.walk(name, (step) => walk(step, house));
  }
  if (house.demo) {
    await tally.walk("afterwards", (step) =>
      step("the demo stops when told to, and everything in its database holds", () => house.demo.stopAndCheck()),
    );
  }
} catch (error) {
  tally.fail("the run", error);
} finally {
  await browser.close();
  await house.demo?.stop();
  databases.dropAll();
}
console.log(`\nScreens and papers are in ${artefacts}`);
tally.close();
