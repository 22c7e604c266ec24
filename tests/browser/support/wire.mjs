// A network that can really be gone.
import { createServer, connect } from "node:net";

// A wire to the service that can be cut: what a browser emulates doesn't reach its service workers alike.
export class Wire {
  static async to(base) {
    const wire = new Wire(new URL(base));
    await wire.mend();
    return wire;
  }

  constructor(to) {
    this.to = to;
    this.open = new Set();
  }

  async mend() {
    this.server = createServer((near) => {
      const far = connect(Number(this.to.port), this.to.hostname);
      for (const [one, other] of [[near, far], [far, near]]) {
        this.open.add(one);
        one.pipe(other);
        one.on("error", () => other.destroy());
        one.on("close", () => this.open.delete(one) && other.destroy());
      }
    });
    await new Promise((ready) => this.server.listen(this.port ?? 0, "127.0.0.1", ready));
    this.port = this.server.address().port;
    this.base = `http://127.0.0.1:${this.port}`;
  }

  async cut() {
    const closed = new Promise((done) => this.server.close(done));
    for (const one of this.open) one.destroy();
    await closed;
  }
}
