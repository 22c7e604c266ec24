// Debian's Chromium, without anything that would reach for the network.
import { chromium } from "playwright-core";

const options = {
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
  ],
};

export function launch() {
  return chromium.launch(options);
}

// One that keeps what it has in a folder, as a device does, so that it can be closed and opened again.
export function launchPersistent(folder) {
  return chromium.launchPersistentContext(folder, options);
}
