/**
 * Which standards lie near a bench metric?
 *
 * Number and subject, from memory except ISO 19407, whose scope page was read. To be cited as
 * related: none was followed in full and no conformity is claimed.
 */
export const relatedStandards: Readonly<Record<string, string>> = {
  "ISO 4649": "abrasion of rubber against a rotating drum with abrasive sheet",
  "ISO 48-4": "durometer (Shore) indentation hardness of rubber",
  "ASTM D2240": "durometer hardness scales of rubber and similar soft materials",
  "ISO 13287": "slip resistance of safety, protective and occupational footwear",
  "EN 13036-4": "skid resistance of a surface with a swinging pendulum",
  "EN 16165": "slip resistance of pedestrian surfaces: ramp, pendulum, tribometer",
  "ASTM F1976": "impact attenuation of athletic shoe cushioning by a falling mass",
  "ISO 8307": "ball rebound of flexible cellular foam",
  "ISO 4662": "rebound resilience of rubber by pendulum",
  "ISO 5725-2": "repeatability and reproducibility of a measurement method",
  "ISO 9407": "Mondopoint: sizing and marking by foot length and width in mm",
  "ISO 19407": "tables that convert between shoe sizing systems",
};
