/** What an import writes where a table must have a name and the sheet had none; the tester replaces it. */
export const NOT_GIVEN = "not given";

/** Is this a name, and not what stands in for one? */
export function isGiven(name: string | null): name is string {
  return name !== null && name.trim() !== "" && name.trim().toLowerCase() !== NOT_GIVEN;
}
