import type { SvgElement } from "./draw.ts";

/** The last step of a picture that is built up: the verdict. */
export const LAST_STEP = 4;

/**
 * Marks an element as coming in at a step of a picture that is built up: 1 scales and names, 2 what there is to
 * compare with or the first shoe, 3 the shoes asked about, 4 what may be said of them. Unmarked is there from the start.
 */
export function atStep<Marked extends SvgElement>(step: number, element: Marked): Marked {
  element.setAttribute("data-step", String(step));
  return element;
}

/** Takes out of a picture what comes in after this step, and the steps' marks from the rest. */
export function buildUp(svg: SvgElement, step: number): void {
  for (const element of [...svg.querySelectorAll("[data-step]")]) {
    if (Number(element.getAttribute("data-step")) > step) element.remove();
    else element.removeAttribute("data-step");
  }
}

/** At which steps a picture built up in so many frames is shown. */
export function frameSteps(frames: number): readonly number[] {
  return Array.from({ length: frames }, (_, index) => LAST_STEP - (frames - 1 - index));
}
