/** Showing results in a cell: tables, charts, prose, frames; everything here also works outside a notebook. @module */
export { frame } from "../records/frame.ts";
export { type ShownTable, showTable as table, type TableOptions } from "../records/show_table.ts";
export {
  type ChartSize,
  type MediaBundle,
  type Showable,
  showChart as chart,
  showMarkdown as markdown,
} from "./in_cell.ts";
export { showAnswer as answer, showAnswerChart as answerChart, showMore as more } from "./ask.ts";
