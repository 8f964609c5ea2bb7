import { CantAnswer } from "../records/cant_answer.ts";
import type { courtPrediction } from "../studies/prediction/court_prediction.ts";
import type { panelAgreement } from "../studies/panel/panel_agreement.ts";
import type { earlierReview } from "../studies/changes/earlier_review.ts";
import type { studyAudit } from "../studies/audit/study_audit.ts";
import type { trialReliability } from "../studies/repeatability/trial_reliability.ts";

/** The studies that can be sent away: functions that are given plain data and give plain data back. */
export type BackgroundStudies = {
  readonly studyAudit: typeof studyAudit;
  readonly trialReliability: typeof trialReliability;
  readonly courtPrediction: typeof courtPrediction;
  readonly panelAgreement: typeof panelAgreement;
  readonly earlierReview: typeof earlierReview;
};

/** Name of a study that can be sent away. */
export type BackgroundStudy = keyof BackgroundStudies;

/**
 * Can a long study run on another processor while the notebook goes on?
 *
 * Hands the study to a worker and returns at once; `await` the promise in the cell that needs the result.
 * Same data and seed, same result as the study called by its name. It pays where a study takes a second or
 * more: the worker loads the studies anew and gets a copy of the data. Studies sent away while others are
 * still at work wait their turn in the same worker, which ends with the last of them.
 *
 * @param study the name of the study; its data must be plain, without functions
 */
export function inBackground<Name extends BackgroundStudy>(
  study: Name,
  ...given: Parameters<BackgroundStudies[Name]>
): Promise<ReturnType<BackgroundStudies[Name]>> {
  type Result = ReturnType<BackgroundStudies[Name]>;
  const { promise, resolve, reject } = Promise.withResolvers<Result>();
  // A failure is told to whoever awaits the result, not to the cell that happens to run then.
  promise.catch(() => {});
  const crew = atWork ??= startCrew();
  crew.waiting.push({
    answered: (answer) =>
      "failed" in answer ? reject(errorOf(answer.failed)) : resolve(answer.result as Result),
    broken: (message) => reject(new Error(`${study} failed in the background: ${message}`)),
  });
  crew.worker.postMessage({ study, given } satisfies Question);
  return promise;
}

/** A worker, and who waits for its answers, first asked first. */
type Crew = {
  readonly worker: Worker;
  readonly waiting: {
    readonly answered: (answer: Answer) => void;
    readonly broken: (message: string) => void;
  }[];
};

/** The one worker, while it has something to do: a second would load the studies a second time. */
let atWork: Crew | null = null;

function startCrew(): Crew {
  const worker = new Worker(new URL("./background_worker.ts", import.meta.url).href, {
    type: "module",
  });
  const crew: Crew = { worker, waiting: [] };
  const end = () => {
    worker.terminate();
    if (atWork === crew) atWork = null;
  };
  worker.onmessage = ({ data }: MessageEvent<Answer>) => {
    const next = crew.waiting.shift()!;
    if (crew.waiting.length === 0) end();
    next.answered(data);
  };
  worker.onerror = (event) => {
    event.preventDefault();
    end();
    for (const { broken } of crew.waiting.splice(0)) broken(event.message);
  };
  return crew;
}

/** What the worker is asked. */
export type Question = { readonly study: BackgroundStudy; readonly given: readonly unknown[] };

/** What it answers: the result, or what went wrong. */
export type Answer<Result = unknown> =
  | { readonly result: Result }
  | { readonly failed: Failure };

/** An error's name and words; its code where the bench can't answer. */
export type Failure = {
  readonly name: string;
  readonly message: string;
  readonly reason?: CantAnswer["reason"];
};

/** An error stays of its kind, as it would be here. */
function errorOf({ name, message, reason }: Failure): Error {
  if (reason !== undefined) return new CantAnswer(reason, message);
  if (name === "RangeError") return new RangeError(message);
  if (name === "TypeError") return new TypeError(message);
  return Object.assign(new Error(message), { name });
}
