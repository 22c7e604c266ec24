// Notices: what time brought stands in the list; a receiver is added, tried out, fails, is sent to again and checks the
// signature for itself; a meeting called off reaches it.
import assert from "node:assert/strict";
import { createHmac } from "node:crypto";
import { once } from "node:events";
import { createServer } from "node:http";
import { Visitor } from "../support/visitor.mjs";

// A receiver as the Standard Webhooks specification describes one. It refuses its first message.
async function bridge() {
  const got = [];
  const server = createServer(async (request, answer) => {
    let body = "";
    for await (const piece of request) body += piece;
    got.push({ headers: request.headers, body });
    answer.writeHead(got.length === 1 ? 500 : 204).end();
  });
  server.listen(0, "127.0.0.1");
  await once(server, "listening");
  return { got, url: `http://127.0.0.1:${server.address().port}/rugs`, close: () => server.close() };
}

function verify(secret, { headers, body }) {
  const key = Buffer.from(secret.replace(/^whsec_/, ""), "base64");
  const signed = `${headers["webhook-id"]}.${headers["webhook-timestamp"]}.${body}`;
  assert.equal(headers["webhook-signature"], `v1,${createHmac("sha256", key).update(signed).digest("base64")}`);
  assert.ok(Math.abs(Date.now() / 1000 - Number(headers["webhook-timestamp"])) < 300, "it is old");
}

export default async function notices(step, house) {
  const me = await Visitor.come(house, { name: "the instructor", link: house.demo.links.instructor });
  const receiver = await bridge();
  let secret;

  const arrived = async (count) => {
    for (let wait = 0; receiver.got.length < count && wait < 120; wait += 1) await me.page.waitForTimeout(500);
    assert.equal(receiver.got.length, count);
  };

  await step("what time brought stands in the list", async () => {
    await me.open("/workroom");
    await me.follow("Notices");
    await me.look("notices");
    assert.match(await me.page.locator("main").innerText(), /overdue/);
  });

  await step("an address that is none is refused; a receiver is added", async () => {
    await me.follow("Add a receiver");
    await me.look("receiver-new");
    await me.field("What it is").fill("The class’s chat");
    await me.field("Its address").fill("the chat");
    await me.expecting(422, () => me.press("Add"));
    await me.look("receiver-refused");
    await me.field("Its address").fill(receiver.url);
    await me.press("Add");
    await me.look("receiver");
    await me.page.getByText("Show the secret").click();
    secret = await me.page.locator("#secret").innerText();
  });

  await step("it is tried out, fails, and is sent to again under the same id", async () => {
    await me.press("Try it out");
    await arrived(1);
    await me.page.waitForTimeout(1000);
    await me.open("/notices");
    await me.look("notices-failed");
    assert.match(await me.page.locator("main").innerText(), /It answered 500/);
    await me.page.getByRole("button", { name: /^Send it now/ }).first().click();
    await me.page.waitForLoadState();
    await arrived(2);
    for (const one of receiver.got) verify(secret, one);
    assert.equal(receiver.got[0].headers["webhook-id"], receiver.got[1].headers["webhook-id"]);
  });

  await step("a meeting called off reaches it", async () => {
    await me.open("/terms");
    const path = await me.page.locator("main a[href^='/terms/']").evaluateAll(
      (links) => links.map((link) => link.getAttribute("href")).find((href) => /^\/terms\/[0-9a-f-]{36}$/.test(href)),
    );
    await me.open(path);
    await me.page.getByRole("button", { name: /^Call off/ }).last().click();
    await me.page.waitForLoadState();
    await arrived(3);
    verify(secret, receiver.got[2]);
    assert.equal(JSON.parse(receiver.got[2].body).type, "meeting.called-off");
    await me.page.getByRole("button", { name: /^Call on again/ }).last().click();
    await me.page.waitForLoadState();
    await arrived(4);
    await me.page.waitForTimeout(1000);
    await me.open("/notices");
    await me.look("notices-sent");
  });

  receiver.close();
  await me.leave();
}
