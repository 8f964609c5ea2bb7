/**
 * What was measured: loading, checking and writing a bench folder, and picking from what it holds.
 *
 * @module
 */
export * from "./types.ts";
export { CantAnswer } from "./cant_answer.ts";
export { BenchError } from "./bench_error.ts";
export { computeColumn, numberColumn } from "./columns.ts";
export { type EnteredValue, enterSheet, type SheetEntry } from "./enter_sheet.ts";
export type { SessionSaid } from "./entered_rows.ts";
export {
  findAttribute,
  findId,
  findMetric,
  findName,
  findShoe,
  type FoundName,
  type Named,
} from "./find_name.ts";
export { frame, type FrameOptions, frameRows } from "./frame.ts";
export { groupMeans } from "./group_means.ts";
export { impressionTable, trialTable } from "./trial_table.ts";
export { type ShownTable, showTable, type TableOptions } from "./show_table.ts";
export { type BenchImport, importBench } from "./import_bench.ts";
export type { MappingSource } from "./import_columns.ts";
export type { CellCounts, CellInPart, CellNotTaken, NotTakenKind } from "./import_ledger.ts";
export {
  type ColumnMapping,
  type ColumnPlace,
  type ImportMapping,
  importMapping,
  type MappedBench,
  type MappedFixed,
  type MappedMetric,
  type MappedName,
  type MappedShoe,
  type SheetMapping,
} from "./import_mapping.ts";
export type { StandingTable, StandingTables, TableMerge, ToFillIn } from "./import_merge.ts";
export { type MadeWith, madeWith } from "./made_with.ts";
export { mappingHelp } from "./import_mapping_help.ts";
export type { NameKind, NameTaken } from "./import_names.ts";
export type { ImportConflict } from "./import_row_set.ts";
export {
  type CommentNotTaken,
  importSheet,
  type SheetImport,
  type SheetRowCount,
} from "./import_sheet.ts";
export type { Merge } from "./import_sheet_marks.ts";
export type { ShoeName } from "./import_shoe_names.ts";
export { importSuggest, type SuggestedMapping } from "./import_suggest.ts";
export {
  type CellContent,
  importWorkbook,
  type Sheet,
  type Workbook,
  WorkbookError,
  workbookOf,
} from "./import_workbook.ts";
export { type BenchInspection, inspectBench } from "./inspect_bench.ts";
export { loadBench } from "./load_bench.ts";
export { findProposal, loadProposal } from "./load_proposal.ts";
export { canonicalJson, canonicalSha256 } from "./canonical_json.ts";
export { registrationCode } from "./registration_code.ts";
export { groupProblems, type ProblemGroup, problemInWords } from "./problem.ts";
export {
  benchUntil,
  lastQuarterWithData,
  previousQuarter,
  quarterEnd,
  quarterOf,
  quarterStart,
} from "./quarters.ts";
export {
  boundedTrials,
  keptTrials,
  otherSizeVisits,
  type Readings,
  ruleInForce,
  type Visit,
  visitsOf,
  visitsOfTrials,
  wornTrials,
} from "./selection.ts";
export { dataDictionary, startBench } from "./start_bench.ts";
export { convert, parseQuantity, sameDimension, type Unit, unitOf, units } from "./units.ts";
export { writeDraft } from "./write_draft.ts";
export { writeResult } from "./write_result.ts";
export { type CellValue, type TableRow, writeTable } from "./write_table.ts";
export { writeWhole } from "./write_whole.ts";
export type { NoQuantity, Quantity } from "./units.ts";
export type { Hidden } from "./import_sheet_marks.ts";
