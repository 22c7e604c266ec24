// The program under test: started on a free port, asked whether it is well, stopped, and its database proven.
import assert from "node:assert/strict";
import { execFileSync, spawn } from "node:child_process";
import { once } from "node:events";
import { createInterface } from "node:readline";
import { setTimeout as pause } from "node:timers/promises";

const PATIENCE = 60_000;

class Service {
  #child;
  #place;
  #binary;
  #log = [];
  lines = [];

  constructor(binary, place, args) {
    this.#binary = binary;
    this.#place = place;
    const env = { ...process.env, ...place.env };
    this.#child = spawn(binary, [...args, "--listen", "127.0.0.1:0", ...place.args], { env });
    createInterface({ input: this.#child.stdout }).on("line", (line) => this.lines.push(line));
    createInterface({ input: this.#child.stderr }).on("line", (line) => this.#log.push(line));
  }

  // The first line that fits, as soon as it is printed.
  async said(pattern) {
    const until = Date.now() + PATIENCE;
    for (;;) {
      const found = this.lines.map((line) => pattern.exec(line)).find(Boolean);
      if (found) return found;
      const gone = this.#child.exitCode !== null;
      assert.ok(!gone && Date.now() < until, `${pattern} was never printed. It said:\n${this.told()}`);
      await pause(50);
    }
  }

  async well() {
    const until = Date.now() + PATIENCE;
    for (;;) {
      const answer = await fetch(`${this.base}/healthz`).catch(() => undefined);
      if (answer?.status === 200) return;
      assert.ok(Date.now() < until, `/healthz never answered 200. It said:\n${this.told()}`);
      await pause(50);
    }
  }

  told() {
    return [...this.lines, ...this.#log].join("\n");
  }

  // What the log says that nobody wants to find there.
  faults() {
    return this.#log.filter((line) => /\b(ERROR|panicked)\b/.test(line));
  }

  async stop() {
    if (this.#child.exitCode !== null || this.#child.signalCode !== null) return this.#child.exitCode;
    const end = once(this.#child, "exit");
    this.#child.kill("SIGTERM");
    const [code] = await end;
    return code;
  }

  async stopAndCheck() {
    assert.equal(await this.stop(), 0, `it stopped badly:\n${this.told()}`);
    assert.deepEqual(this.faults(), [], "the log has errors");
    const env = { ...process.env, ...this.#place.env };
    const said = execFileSync(this.#binary, ["check", ...this.#place.args], { env, encoding: "utf8" });
    assert.match(said, /everything holds/);
  }
}

const link = (role) => new RegExp(`^${role} {2,}(http://\\S+)$`);

// The demo, with the link that enters as each role.
export class Demo extends Service {
  static async start(binary, place) {
    const demo = new Demo(binary, place, ["demo", "--private-receivers"]);
    try {
      demo.links = {};
      for (const role of ["instructor", "volunteer", "weaver"]) demo.links[role] = (await demo.said(link(role)))[1];
      demo.base = new URL(demo.links.weaver).origin;
      await demo.well();
    } catch (error) {
      await demo.stop();
      throw error;
    }
    return demo;
  }
}

// The service on a database where nobody is yet, with its setup link.
export class FirstStart extends Service {
  static async start(binary, place) {
    const service = new FirstStart(binary, place, ["serve"]);
    try {
      service.setup = (await service.said(/^(http:\/\/\S+\/setup\/\S+)$/))[1];
      service.base = new URL(service.setup).origin;
      await service.well();
    } catch (error) {
      await service.stop();
      throw error;
    }
    return service;
  }
}
