/** What every answer to a viewer's question says beside its figures. */
export type AnswerParts = {
  /** Trials used. */
  readonly trials: number;
  /** Day of the last of them. */
  readonly last_trial: string | null;
  /** The answer, to stand above its picture. */
  readonly sentence: string;
  /** What the picture shows, for a reader who can't see it. */
  readonly alt: string;
  /** What to know beside it. */
  readonly notes: readonly string[];
  readonly cautions: readonly string[];
  readonly warnings: readonly string[];
};
