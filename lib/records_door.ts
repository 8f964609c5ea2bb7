/**
 * What was measured: loading, checking, picking, importing and writing a bench folder, and its tables for
 * questions of one's own.
 *
 * The records as the door hands them out. A row a shoe holds the panel's values, which are a study's; so that table
 * is made among the studies, and stands beside the others here, where one looks for it.
 *
 * @module
 */
export * from "./records/mod.ts";
export { shoeTable } from "./studies/shoes/shoe_table.ts";
