import type { AnswerChart } from "../charts/answer_picture.ts";
import type { Answer } from "../words/comparison/tell_answer.ts";

/** An answer, and how it is drawn. */
export type DrawnAnswer = {
  readonly answer: Answer;
  readonly chart: AnswerChart;
  /** How many things the chart could show. */
  readonly things: number;
  /** Before which of them a picture begins anew. */
  readonly breaks?: readonly number[];
  /** How many pictures they may be spread over; one unless given. */
  readonly pictures?: number;
};
