// The way in: a person is added, signs in, is refused with a wrong passphrase, and signs out.
import assert from "node:assert/strict";
import { Visitor } from "../support/visitor.mjs";

const PHRASE = "seven brown teapots in a row";
const OWN = "nine grey herrings and a lamp";

export default async function entry(step, house) {
  const name = "Odd Lantern";

  await step("an instructor adds a volunteer", async () => {
    const instructor = await Visitor.come(house, { name: "the instructor", link: house.demo.links.instructor });
    await instructor.open("/people");
    await instructor.look("people");
    await instructor.follow("Add a person");
    await instructor.look("person-new");
    await instructor.page.getByText("volunteer", { exact: true }).click();
    await instructor.page.locator("[name=name]").fill(name);
    await instructor.page.locator("[name=passphrase]").fill(PHRASE);
    await instructor.page.locator("[name=again]").fill(PHRASE);
    await instructor.press("Add");
    assert.equal(await instructor.heading(), name);
    await instructor.look("person");
    await instructor.leave();
  });

  const volunteer = await Visitor.come(house, { name: "the new volunteer" });

  await step("strangers are led to the sign-in page, and a wrong passphrase is refused in one sentence", async () => {
    await volunteer.open("/frames");
    assert.equal(volunteer.path(), "/sign-in");
    await volunteer.look("sign-in");
    await volunteer.field("Your name").fill(name);
    await volunteer.field("Passphrase").fill("seven brown teapots in a heap");
    await volunteer.expecting(422, () => volunteer.press("Sign in"));
    assert.equal(await volunteer.field("Your name").inputValue(), name);
    assert.equal(await volunteer.field("Passphrase").inputValue(), "");
    await volunteer.look("sign-in-refused");
  });

  await step("the right one leads to the page that was asked for", async () => {
    await volunteer.field("Passphrase").fill(PHRASE);
    await volunteer.press("Sign in");
    // Somebody else knows the first one: before anything else they choose their own.
    assert.equal(volunteer.path(), "/me/passphrase");
    await volunteer.look("choose-passphrase");
    const told = volunteer.page.locator("[data-strength] + [role=status]");
    await volunteer.field("The new one", { exact: true }).fill("too short");
    await told.getByText("15").waitFor();
    await volunteer.field("The new one", { exact: true }).fill(OWN);
    await told.getByText("good", { exact: false }).waitFor();
    await volunteer.field("Your current passphrase").fill(PHRASE);
    await volunteer.field("The new one again").fill(OWN);
    await volunteer.press("Set it");
    assert.equal(volunteer.path(), "/me");
    await volunteer.look("me-signed-in");
    await volunteer.open("/frames");
    assert.equal(volunteer.path(), "/frames");
  });

  await step("an unknown page says so and shows a way on", async () => {
    await volunteer.expecting(404, () => volunteer.page.goto("/no-such-page"));
    await volunteer.look("not-found");
  });

  await step("signing out ends it", async () => {
    await volunteer.open("/me");
    await volunteer.press("Sign out");
    await volunteer.open("/me");
    assert.equal(volunteer.path(), "/sign-in");
    await volunteer.leave();
  });
}
