/** Sentences and tables about the published catalogue. @module */
export { type CatalogueCell, catalogueRows as rows } from "./catalogue_rows.ts";
export { howToRead, partWords, placeWords, trustWords, valueWords } from "./catalogue_words.ts";
