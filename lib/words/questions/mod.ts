/** Answers about the catalogue as a whole, or about one shoe among all, in words. @module */
export { bestWords as best } from "./best_words.ts";
export { courtWords as court } from "./court_words.ts";
export { labelFitWords as runs } from "./label_words.ts";
export { likeWords as like } from "./like_words.ts";
export { linkWords as link } from "./link_words.ts";
export { makerWords as makers } from "./maker_words.ts";
export { panelDivisionWords as panel } from "./panel_words.ts";
export { profileWords as profile } from "./profile_words.ts";
export { sizeWords as sizes } from "./size_words.ts";
export { testWords as drift } from "./test_words.ts";
export { versionWords as index } from "./version_words.ts";
