import type { Better } from "../records/types.ts";

/** Which way is better, as it stands beside an axis. */
export function betterWords({ better }: { readonly better: Better }): string {
  switch (better) {
    case "higher":
      return "higher is better →";
    case "lower":
      return "← lower is better";
    case "target":
      return "a middle range is best";
    case "none":
      return "neither way is better";
  }
}
