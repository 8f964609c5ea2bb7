import assert from "node:assert/strict";

/**
 * Are two numbers equal to a stated tolerance?
 *
 * @param found what the code gave; null or NaN always fails
 * @param wanted the outside reference
 * @param within absolute tolerance, or `relative` for one in units of the reference
 */
export function assertClose(
  found: number | null | undefined,
  wanted: number,
  tolerance: { readonly within: number } | { readonly relative: number },
): void {
  assert.ok(
    typeof found === "number" && Number.isFinite(found),
    `expected ${wanted}, found ${found}`,
  );
  const allowed = "within" in tolerance ? tolerance.within : tolerance.relative * Math.abs(wanted);
  const miss = Math.abs(found - wanted);
  assert.ok(
    miss <= allowed,
    `expected ${wanted} within ${allowed}, found ${found}, off by ${miss}`,
  );
}
