// The second step: a passkey in Chromium's own virtual authenticator, an app's codes, recovery codes, and a lost device.
import assert from "node:assert/strict";
import { createHmac } from "node:crypto";
import { Visitor } from "../support/visitor.mjs";

const GIVEN = "six dry ropes in a locker";
const PHRASE = "nine wet ropes on a bollard";

// RFC 6238 with HMAC-SHA-1, written separately from the program's own.
function code(secret, second) {
  const letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567";
  const bits = [...secret.replaceAll(" ", "")].map((letter) => letters.indexOf(letter).toString(2).padStart(5, "0")).join("");
  const key = Buffer.from(bits.match(/.{8}/g).map((byte) => parseInt(byte, 2)));
  const step = Buffer.alloc(8);
  step.writeBigUInt64BE(BigInt(Math.floor(second / 30)));
  const hash = createHmac("sha1", key).update(step).digest();
  const from = hash[19] & 15;
  return String((hash.readUInt32BE(from) & 0x7fffffff) % 1_000_000).padStart(6, "0");
}

const now = () => Date.now() / 1000;

export default async function factor(step, house) {
  const name = "Fenn Marl";
  const instructor = await Visitor.come(house, { name: "the instructor", link: house.demo.links.instructor });
  let person;

  await step("an instructor adds a volunteer", async () => {
    await instructor.open("/people/new");
    await instructor.page.getByText("volunteer", { exact: true }).click();
    await instructor.page.locator("[name=name]").fill(name);
    await instructor.page.locator("[name=passphrase]").fill(GIVEN);
    await instructor.page.locator("[name=again]").fill(GIVEN);
    await instructor.press("Add");
    person = instructor.path();
  });

  // Browsers have passkeys at localhost, not at a number.
  const base = house.demo.base.replace("127.0.0.1", "localhost");
  const me = await Visitor.come({ ...house, base }, { name });
  const devtools = await me.page.context().newCDPSession(me.page);
  await devtools.send("WebAuthn.enable");
  const { authenticatorId } = await devtools.send("WebAuthn.addVirtualAuthenticator", {
    options: {
      protocol: "ctap2",
      transport: "internal",
      hasResidentKey: true,
      hasUserVerification: true,
      isUserVerified: true,
      automaticPresenceSimulation: true,
    },
  });

  const passphrase = async (phrase = PHRASE) => {
    await me.open("/sign-in?to=/me/second-factor");
    await me.field("Your name").fill(name);
    await me.field("Passphrase").fill(phrase);
    await me.press("Sign in");
  };
  const out = async () => {
    await me.open("/me");
    await me.press("Sign out");
  };

  let recovery;
  await step("they add a passkey and are given ten recovery codes", async () => {
    await passphrase(GIVEN);
    await me.page.locator("[name=old]").fill(GIVEN);
    await me.page.locator("[name=passphrase]").fill(PHRASE);
    await me.page.locator("[name=again]").fill(PHRASE);
    await me.press("Set it");
    await me.follow("Passkeys and codes");
    assert.equal(me.path(), "/me/second-factor");
    await me.look("second-factor");
    await me.page.locator("[name=name]").fill("my phone");
    await me.press("Add a passkey");
    assert.equal(await me.heading(), "Your recovery codes");
    recovery = await me.page.locator(".recovery-codes li").allInnerTexts();
    assert.equal(new Set(recovery).size, 10);
    await me.look("recovery-codes");
    await me.follow("I have kept them");
    await me.page.locator(".passkeys").getByText("my phone").waitFor();
    await me.look("second-factor-on");
  });

  await step("one device doesn’t add itself twice", async () => {
    await me.page.getByRole("button", { name: "Add a passkey" }).click();
    await me.page.getByText("has a passkey of yours already").waitFor();
  });

  await step("they sign in by the passkey alone", async () => {
    await out();
    await me.open("/sign-in?to=/frames");
    await me.look("sign-in-passkey");
    await me.press("Use a passkey");
    assert.equal(me.path(), "/frames");
  });

  await step("alone it opens nothing when the device doesn’t know its owner", async () => {
    await out();
    await devtools.send("WebAuthn.setUserVerified", { authenticatorId, isUserVerified: false });
    await me.open("/sign-in");
    await me.page.getByRole("button", { name: "Use a passkey" }).click();
    await me.page.getByText("Nothing came back from the device").waitFor();
    await me.open("/me");
    assert.equal(me.path(), "/sign-in");
  });

  await step("after the passphrase the same passkey is the second step", async () => {
    await devtools.send("WebAuthn.setUserVerified", { authenticatorId, isUserVerified: true });
    await passphrase();
    assert.equal(me.path(), "/sign-in/second-step");
    await me.look("second-step");
    await me.press("Use my passkey");
    assert.equal(me.path(), "/me/second-factor");
  });

  let secret;
  await step("they set up an app, and its next code opens the second step", async () => {
    await me.press("Set up an app");
    await me.look("codes");
    secret = await me.page.locator(".key").innerText();
    await me.field("The code that the app shows").fill(code(secret, now()));
    await me.press("Turn it on");
    assert.equal(me.path(), "/me/second-factor");
    await out();
    await passphrase();
    await me.field("Code").fill(code(secret, now() + 30));
    await me.press("Go on");
    assert.equal(me.path(), "/me/second-factor");
  });

  await step("a recovery code opens it once", async () => {
    await out();
    await passphrase();
    await me.field("Code").fill(recovery[0].toLowerCase());
    await me.press("Go on");
    await out();
    await passphrase();
    await me.field("Code").fill(recovery[0]);
    await me.expecting(422, () => me.press("Go on"));
    await me.look("second-step-refused");
  });

  await step("a passkey that was removed opens nothing any more", async () => {
    await me.press("Use my passkey");
    assert.equal(me.path(), "/me/second-factor");
    await me.press("Remove my phone");
    await me.look("second-factor-removed");
    await out();
    await me.page.getByRole("button", { name: "Use a passkey" }).click();
    await me.page.getByText("didn’t open it").waitFor();
    assert.equal(me.path(), "/sign-in");
  });

  await step("an instructor takes off what is lost, and the passphrase alone signs in", async () => {
    await instructor.open(person);
    await instructor.follow("Look at it");
    await instructor.look("person-second-factor");
    await instructor.press("Take the second step off");
    await instructor.leave();
    await passphrase();
    assert.equal(me.path(), "/me/second-factor");
    await me.leave();
  });
}
