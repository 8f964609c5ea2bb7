/**
 * This bench can't answer what was asked: it lacks the shoe, the metric or the readings.
 *
 * Cells and tasks show it as 'can't answer'. Any other error is a wrong call or a fault of the kit, and
 * looks like one.
 */
export class CantAnswer extends RangeError {
  /** Which error it is. */
  override readonly name: string = "CantAnswer";

  /** What is lacking, as a code with its names and numbers. */
  readonly reason: {
    readonly code: string;
    readonly [detail: string]: string | number | boolean | readonly string[];
  };

  /** What stood in the way, where it is several things; `lib/words` says them behind the message. */
  readonly causes: readonly CantAnswer["reason"][];

  /**
   * Says what is lacking.
   *
   * @param reason a code, such as `{ code: "not-on-bench", what: "shoe", id: "a" }`
   * @param message a sentence without a full stop: what was asked, what there is
   * @param causes what stood in the way, as codes
   */
  constructor(
    reason: CantAnswer["reason"],
    message: string,
    causes: readonly CantAnswer["reason"][] = [],
  ) {
    super(message);
    this.reason = reason;
    this.causes = causes;
  }
}
