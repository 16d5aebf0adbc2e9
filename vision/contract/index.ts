/** Every stored or exchanged document: its schema, from which types, JSON Schema and checks come. */

export { Alarm, AlarmList, NewPush, Push, PushKey, PushList } from "./alarm.ts";
export { CocoFile } from "./coco.ts";
export { Controls, DeckFile, type DeckFileInput, Launder, Splitter } from "./deck-file.ts";
export { Drift, DriftAlarm, DriftChart, DriftEvent, WATCHED, type WatchedName } from "./drift.ts";
export { EarlierLook, MOST_EARLIER } from "./earlier-look.ts";
export { Expectation, Expected } from "./expected.ts";
export { fieldFault } from "./field-fault.ts";
export {
  Alike,
  AlikeAsked,
  BandLook,
  DECK_FAULTS,
  DECK_SHAPES,
  DeckFault,
  DeckShape,
  GalleryChoices,
  LookDifference,
  NewMadeDeck,
  NewReference,
  Reference,
  ReferenceList,
  ReferenceStock,
  ShownReference,
} from "./gallery.ts";
export {
  ContentId,
  DoneEvent,
  Health,
  NewReading,
  type NewReadingInput,
  PhotoReceipt,
  PREVIEW_PX,
  Problem,
  ReadingReceipt,
  Ready,
  Sample,
  SampleList,
  STAGE_NAMES,
  StageEvent,
} from "./http.ts";
export {
  Lesson,
  LessonChange,
  LessonList,
  LessonProgress,
  LessonScore,
  LessonTry,
  LessonTryList,
  NewLesson,
  NewLessonTry,
} from "./lesson.ts";
export {
  AimFile,
  CornersFile,
  Look,
  MaterialProfile,
  SEEN_BY_EYE,
  SettingsFile,
  Tap,
  TapsFile,
  TwinBelief,
} from "./notes.ts";
export { PACK_LIMITS, PackFile, PackKey, PackLook, PackSignature, PackTaken } from "./pack.ts";
export { Band, DeckState, DryPatch, Hint, QualityIssue, Reading, Rill } from "./reading.ts";
export {
  NewReviewAnswer,
  NewReviewAsk,
  QueueItem,
  QueueReason,
  REVIEW_PHRASES,
  REVIEW_WHYS,
  ReviewAnswer,
  ReviewAnswerList,
  ReviewAsk,
  ReviewAskList,
  ReviewQueue,
} from "./review.ts";
export { BalanceLine, RunBalance } from "./run-balance.ts";
export {
  NewRunLogEntry,
  type NewRunLogEntryInput,
  RunAbout,
  RunEntry,
  RunLog,
  RunLogEntry,
  SheetTaken,
} from "./run-log.ts";
export {
  CONTROLS,
  type ControlName,
  Figure,
  PENALTIES,
  Penalty,
  type PenaltyName,
  PRICES,
  type PriceName,
  RunNote,
  RunPhoto,
  RunRecord,
  RunSample,
  RunSetting,
  RunStream,
  SAMPLE_KINDS,
  TABLE_MINERALS,
  When,
} from "./run-record.ts";
export { MoneyCaution, MoneyRefusal, RunSplitters } from "./run-splitters.ts";
export { Said, SaidText, SaidValue } from "./said.ts";
export { SamplingAim, SamplingPlans } from "./sampling-aim.ts";
export { SetupEntry, SetupRecord } from "./setup-record.ts";
export {
  CLASS_NAMES,
  ClassName,
  DeckPair,
  MarkedEdge,
  OutletSpan,
  PhotoPair,
  Product,
  SchemaVersion,
} from "./shapes.ts";
export {
  Agreement,
  Comparison,
  Deck,
  DeckList,
  DeckVersion,
  DeckVersionList,
  Device,
  DeviceList,
  HintTaken,
  HintTakenList,
  Id,
  Invitation,
  InvitationList,
  Job,
  JobList,
  MadeDevice,
  MadeInvitation,
  MadeShare,
  MarkUp,
  MarkUpFile,
  MarkUpList,
  NewDeck,
  NewDevice,
  NewHintTaken,
  NewInvitation,
  NewMarkUp,
  NewRun,
  NewSettingsEntry,
  NewShare,
  NewSiteName,
  Person,
  PersonList,
  PhotoChange,
  PhotoList,
  ReadingList,
  ReadingSummary,
  Report,
  ReportList,
  ReportReceipt,
  Role,
  Run,
  RunChange,
  RunList,
  SettingsEntry,
  SettingsList,
  Share,
  ShareList,
  Site,
  SiteList,
  StoredPhoto,
  Time,
} from "./stored.ts";
export { Told } from "./told.ts";
