// Fresh databases of the kind under test, and their end.
import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

export class Databases {
  #made = [];
  #server;

  constructor(server) {
    this.#server = server;
    this.kind = server ? "postgres" : "sqlite";
  }

  // The arguments and environment that put a command on a database of its own.
  fresh() {
    return this.#server ? this.#postgres() : this.#sqlite();
  }

  #sqlite() {
    const folder = mkdtempSync(join(tmpdir(), "thrumhall-browser-"));
    this.#made.push(() => rmSync(folder, { recursive: true, force: true }));
    return { args: ["--data", folder], env: { DATABASE_URL: "" } };
  }

  #postgres() {
    const name = `thrumhall_browser_${process.pid}_${this.#made.length}`;
    this.#ask(`CREATE DATABASE ${name}`);
    this.#made.push(() => this.#ask(`DROP DATABASE ${name} WITH (FORCE)`));
    const url = new URL(this.#server);
    url.pathname = `/${name}`;
    return { args: [], env: { DATABASE_URL: url.href } };
  }

  #ask(statement) {
    execFileSync("psql", ["--no-psqlrc", "--quiet", "-v", "ON_ERROR_STOP=1", "-c", statement, this.#server]);
  }

  dropAll() {
    for (const end of this.#made.splice(0)) end();
  }
}
