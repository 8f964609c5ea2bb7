/**
 * Standard acceleration of free fall in m/s², exact by definition (NIST Special Publication 811).
 */
export const standardGravity_m_per_s2 = 9.80665;
