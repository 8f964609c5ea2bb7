export { unitWords } from "../studies/unit_words.ts";
