/** Whether the studies can be trusted at a bench's size, in words. @module */
export { auditFinding as finding } from "./audit_finding.ts";
export {
  type AuditResult,
  auditResult as result,
  auditSentence as sentence,
  predictionAuditResult as predictionResult,
  predictionAuditSentence as predictionSentence,
  type ToldAudit,
} from "./audit_words.ts";
