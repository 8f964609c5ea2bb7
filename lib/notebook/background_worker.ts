/** The other end of `inBackground`: runs one study and sends its result back. */
/// <reference no-default-lib="true" />
/// <reference lib="deno.worker" />
import { CantAnswer } from "../records/cant_answer.ts";
import * as studies from "../studies/mod.ts";
import type { Answer, Question } from "./in_background.ts";

self.onmessage = ({ data: { study, given } }: MessageEvent<Question>) => {
  self.postMessage(answer(study, given));
};

function answer(study: Question["study"], given: readonly unknown[]): Answer {
  try {
    const run = studies[study] as (...given: readonly unknown[]) => unknown;
    return { result: run(...given) };
  } catch (error) {
    const { name, message } = error as Error;
    return {
      failed: { name, message, ...(error instanceof CantAnswer ? { reason: error.reason } : {}) },
    };
  }
}
