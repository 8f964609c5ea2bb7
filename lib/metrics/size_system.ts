/** The systems a shoe's labelled size can be written in. Mondopoint is the foot's length in mm. */
export type SizeSystem = "mondopoint" | "eu" | "us-men" | "us-women" | "uk";

/** Every size system, in the order tables show them. */
export const sizeSystems: readonly SizeSystem[] = ["mondopoint", "eu", "uk", "us-men", "us-women"];

/** What lies between the systems and differs by maker or custom. */
export type SizeConventions = {
  /**
   * How much longer the last is than the foot it is made for; 10 to 20 mm is common, no source
   * (default 15).
   */
  readonly allowance_mm?: number;
  /**
   * How much higher a women's US size runs than the men's on the same last; 1 or 1.5 by custom
   * (default 1.5).
   */
  readonly us_women_over_men?: number;
};
