// Counts what passed and failed. A step that fails ends its walk, since the steps after it stand on it.
export class Tally {
  #passed = 0;
  #failed = 0;
  #failures = [];

  async walk(name, walk) {
    console.log(`\n${name}`);
    const step = async (what, act) => {
      const begun = performance.now();
      try {
        await act();
      } catch (error) {
        error.step = what;
        throw error;
      }
      this.#passed += 1;
      console.log(`  ok    ${what} (${((performance.now() - begun) / 1000).toFixed(1)} s)`);
    };
    try {
      await walk(step);
    } catch (error) {
      this.fail(error.step ?? "outside its steps", error);
    }
  }

  fail(what, error) {
    this.#failed += 1;
    const failure = `  FAIL  ${what}\n${String(error.stack ?? error).replace(/^/gm, "        ")}`;
    this.#failures.push(failure);
    console.log(failure);
  }

  close() {
    if (this.#passed === 0 && this.#failed === 0) this.#failed = 1;
    // Once more at the end, where it is looked for.
    for (const failure of this.#failures) console.log(failure);
    console.log(`${this.#passed} passed, ${this.#failed} failed`);
    process.exitCode = this.#failed > 0 ? 1 : 0;
  }
}
