/** Shrout & Fleiss' names. */
export type IccForm = "ICC(1,1)" | "ICC(2,1)" | "ICC(3,1)" | "ICC(1,k)" | "ICC(2,k)" | "ICC(3,k)";

export const ICC_FORMS: readonly IccForm[] = [
  "ICC(1,1)",
  "ICC(2,1)",
  "ICC(3,1)",
  "ICC(1,k)",
  "ICC(2,k)",
  "ICC(3,k)",
];
