/**
 * A worker inside every kernel that ends the kernel when its keeper is gone.
 *
 * A cell that never comes to an end keeps the kernel from noticing anything. This runs beside it and asks
 * the permission broker, which lives in the keeper, about nothing in particular: the runtime ends a
 * process whose broker does not answer.
 */
/// <reference no-default-lib="true" />
/// <reference lib="deno.worker" />

const EVERY_MS = 500;

setInterval(() => Deno.env.has("NODE_ENV"), EVERY_MS);
