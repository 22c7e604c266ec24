// Where things are in the checkout.
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

export const ROOT = join(dirname(fileURLToPath(import.meta.url)), "..", "..", "..");

// The release build, wherever Cargo was told to put it.
export function binary() {
  return join(process.env.CARGO_TARGET_DIR ?? join(ROOT, "target"), "release", "thrumhall");
}
