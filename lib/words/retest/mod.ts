/** Sentences and tables about what to bench next. @module */
export { planSentence as sentence, retestRows as rows, toldPlan as told } from "./retest_words.ts";
export type { ToldPlan } from "./retest_words.ts";
export { cardsPage, type SheetHead, sheetPage } from "./sheet_page.ts";
export { pilotSentence } from "./pilot_words.ts";
