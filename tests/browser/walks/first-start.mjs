// A new installation: the printed link sets the workroom up, once, and its founder is in.
import assert from "node:assert/strict";
import { FirstStart } from "../support/service.mjs";
import { Visitor } from "../support/visitor.mjs";

const PHRASE = "eleven grey gulls at low tide";

export default async function firstStart(step, { browser, databases, artefacts, binary }) {
  const service = await FirstStart.start(binary, databases.fresh());
  const house = { browser, artefacts, base: service.base };
  try {
    const founder = await Visitor.come(house, { name: "the founder" });

    await step("the link opens the form, and a form half filled in comes back with what was typed", async () => {
      await founder.open(service.setup);
      await founder.look("setup");
      await founder.field("The workroom’s name").fill("Quayside Loft");
      await founder.expecting(422, () => founder.press("Open the workroom"));
      assert.equal(await founder.field("The workroom’s name").inputValue(), "Quayside Loft");
      assert.ok((await founder.page.locator(".error-summary li").count()) >= 2);
      await founder.look("setup-refused");
    });

    await step("filled in, it makes the workroom and its first instructor", async () => {
      await founder.page.getByText("centimetres and grams").click();
      await founder.field("Time zone").selectOption("Europe/Lisbon");
      await founder.field("Your name").fill("Marta Quay");
      await founder.field("A passphrase").fill(PHRASE);
      await founder.field("The passphrase again").fill(PHRASE);
      await founder.press("Open the workroom");
      assert.equal(founder.path(), "/today");
      assert.match(await founder.page.locator("header.house").innerText(), /Quayside Loft[\s\S]*Marta Quay/);
    });

    await step("an empty workroom says on each of its pages what to do next", async () => {
      for (const path of ["/today", "/frames", "/rugs", "/cloth", "/people", "/terms"]) {
        await founder.open(path);
        await founder.look(`empty${path.replaceAll("/", "-")}`);
      }
    });

    await step("the link doesn't work twice", async () => {
      await founder.expecting(404, () => founder.page.goto(service.setup));
      await founder.leave();
    });

    await step("the service stops when told to, and everything in its database holds", () => service.stopAndCheck());
  } finally {
    await service.stop();
  }
}
