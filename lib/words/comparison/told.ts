/** What is said of an answer to a viewer. */
export type Told = {
  /** The answer, to stand above its picture. */
  readonly sentence: string;
  /** What the picture shows, for a reader who can't see it. */
  readonly alt: string;
  /** What to know beside it. */
  readonly notes: readonly string[];
  readonly cautions: readonly string[];
};
