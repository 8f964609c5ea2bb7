/** Sentences about what play does to a shoe. @module */
export { wearSentence as sentence, wearWords as told } from "./wear_words.ts";
