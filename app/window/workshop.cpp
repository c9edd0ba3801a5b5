#include "app/window/workshop.h"

#include <cmath>
#include <utility>

#include "app/window/document.h"
#include "core/base/error.h"
#include "core/cut/library.h"

namespace macle::app {

namespace {
constexpr double kAtLargest = 5e-4;  // share of the size within which a cut is at its largest
}  // namespace

// The stone and its cutter live as long as the division, which may be them.
std::shared_ptr<const DividedStone> dividedFor(const std::shared_ptr<const Stone>& stone,
                                               const std::shared_ptr<const RoughCutter>& cutter,
                                               const std::vector<Saw>& saws, Progress* progress) {
    struct Kept {
        std::shared_ptr<const Stone> stone;
        std::shared_ptr<const RoughCutter> cutter;
        DividedStone divided;
    };
    const auto kept =
        std::make_shared<Kept>(stone, cutter, divideStone(*stone, *cutter, saws, progress));
    return {kept, &kept->divided};
}

bool Prepared::about(const Document& document) const {
    return document.isOpen() && of == document.stone() && saws == document.layout().saws &&
           piece == document.planned().piece;
}

std::shared_ptr<const Prepared> prepare(const std::shared_ptr<const Stone>& stone, int roughNumber,
                                        const std::vector<Saw>& saws, int piece,
                                        const std::shared_ptr<const Prepared>& earlier,
                                        Progress* progress) {
    auto made = std::make_shared<Prepared>();
    made->of = stone;
    made->roughNumber = roughNumber;
    made->saws = saws;
    made->piece = piece;
    const bool sameRough = earlier && earlier->roughNumber == roughNumber;
    made->wholeStone = sameRough ? earlier->wholeStone : stone;
    made->wholeCutter =
        sameRough ? earlier->wholeCutter : std::make_shared<const RoughCutter>(stone->rough);
    if (progress) progress->throwIfCancelled();
    const bool sameSaws =
        earlier && earlier->of == stone && earlier->divided && earlier->saws == saws;
    made->divided =
        sameSaws ? earlier->divided : dividedFor(stone, made->wholeCutter, saws, progress);
    if (piece < 0 || piece >= static_cast<int>(made->divided->pieces.size()))
        throw Error(ErrorCode::BadUsage, "The stone is cut from a piece that is not there.",
                    "Choose one of the pieces the saws leave.");
    const StonePiece& one = made->divided->pieces[static_cast<std::size_t>(piece)];
    made->stone = saws.empty() ? stone : one.stone;
    made->cutter = one.cutter;
    if (progress) progress->throwIfCancelled();
    made->obstacles = std::make_shared<const Obstacles>(*made->stone, progress);
    return made;
}

Workshop::Workshop(QObject* parent) : QObject(parent), thread_([this] { run(); }) {}

Workshop::~Workshop() {
    {
        const std::lock_guard lock(mutex_);
        ending_ = true;
        if (preparation_) preparation_->cancel();
    }
    wake_.notify_one();
    thread_.join();
}

void Workshop::adopt(std::shared_ptr<const Prepared> prepared) {
    {
        const std::lock_guard lock(mutex_);
        prepared_ = std::move(prepared);
        waiting_.reset();
    }
    lastTold_ = lastAsked_;
    Q_EMIT preparedChanged();
}

std::shared_ptr<const Prepared> Workshop::prepared() const {
    const std::lock_guard lock(mutex_);
    return prepared_;
}

void Workshop::forget() {
    adopt(nullptr);
}

long long Workshop::request(std::shared_ptr<const Stone> stone, int roughNumber,
                            const Layout& layout, int which, bool atRest) {
    ++lastAsked_;
    {
        const std::lock_guard lock(mutex_);
        Request request{lastAsked_, std::move(stone), roughNumber, layout, which, atRest};
        // A preparation for another version of the stone or another piece is of no use any more.
        if (preparation_ && !request.samePiece(*preparing_)) preparation_->cancel();
        waiting_ = std::move(request);
    }
    wake_.notify_one();
    return lastAsked_;
}

void Workshop::run() {
    while (true) {
        Request request;
        {
            std::unique_lock lock(mutex_);
            wake_.wait(lock, [this] { return ending_ || waiting_.has_value(); });
            if (ending_) return;
            request = std::move(*waiting_);
            waiting_.reset();
        }
        auto figures = std::make_shared<Figures>();
        figures->number = request.number;
        figures->placement = request.planned().placement;
        try {
            compute(request, *figures);
        } catch (const Error& error) {
            if (error.code() == ErrorCode::Cancelled) continue;
            figures->trouble = error.message();
            figures->remedy = error.remedy();
        } catch (const std::exception& error) {
            figures->trouble = std::string("The figures could not be computed: ") + error.what();
            figures->remedy = "Undo the last change.";
        }
        tell(std::move(figures));
    }
}

std::shared_ptr<const Prepared> Workshop::preparedFor(const Request& request) {
    std::shared_ptr<const Prepared> earlier;
    auto progress = std::make_shared<Progress>([this](double fraction) {
        QMetaObject::invokeMethod(
            this, [this, fraction] { Q_EMIT preparing(fraction); }, Qt::QueuedConnection);
    });
    {
        const std::lock_guard lock(mutex_);
        if (prepared_ && prepared_->of == request.stone && prepared_->saws == request.layout.saws &&
            prepared_->piece == request.planned().piece)
            return prepared_;
        earlier = prepared_;
        preparation_ = progress;
        preparing_ = request;
    }
    std::shared_ptr<const Prepared> made;
    try {
        made = prepare(request.stone, request.roughNumber, request.layout.saws,
                       request.planned().piece, earlier, progress.get());
    } catch (...) {
        const std::lock_guard lock(mutex_);
        preparation_.reset();
        preparing_.reset();
        throw;
    }
    {
        const std::lock_guard lock(mutex_);
        preparation_.reset();
        preparing_.reset();
        // Another stone may have been adopted or all closed meanwhile.
        if (prepared_ == earlier) prepared_ = made;
    }
    QMetaObject::invokeMethod(
        this, [this] { Q_EMIT preparedChanged(); }, Qt::QueuedConnection);
    return made;
}

void Workshop::compute(const Request& request, Figures& figures) {
    const std::vector<std::string> files = cutFiles(request.planned().cut);
    if (!shaped_ || shaped_->cutFiles != files || shaped_->cut != request.planned().cut ||
        shaped_->proportions != request.planned().proportions ||
        shaped_->edits != request.planned().edits) {
        auto shaped = std::make_shared<Shaped>();
        shaped->cut = request.planned().cut;
        shaped->proportions = request.planned().proportions;
        shaped->edits = request.planned().edits;
        shaped->cutFiles = files;
        shaped->design = designOf(request.planned());
        for (const ConvexPart& part : shaped->design.parts)
            shaped->solids.push_back(makeSolid(part));
        shaped_ = std::move(shaped);
    }
    figures.shaped = shaped_;
    figures.stone = request.which;
    const std::shared_ptr<const Prepared> prepared = preparedFor(request);
    const Placement& placement = request.planned().placement;
    const Gauge gauge(*prepared->obstacles, shaped_->design, request.planned().rules);
    figures.largest = gauge.largest(placement.rotation, placement.translation_mm);
    if (figures.largest.source >= 0)
        figures.limits = limitsAt(gauge, placement.rotation, placement.translation_mm);
    if (request.atRest && figures.largest.size_mm > 0.0 &&
        std::abs(placement.size_mm / figures.largest.size_mm - 1.0) < kAtLargest)
        figures.holds = explain(gauge, placement).holds;
    figures.appraisal = appraise(*prepared->stone, *prepared->cutter, shaped_->design, placement);
    if (request.atRest || request.layout.stones.size() > 1 || !request.layout.saws.empty()) {
        try {
            figures.whole =
                std::make_shared<const WholeLayout>(weighWhole(prepared->divided, request.layout));
        } catch (const Error& error) {
            if (error.code() == ErrorCode::Cancelled) throw;
            figures.wholeTrouble = error.message() + " " + error.remedy();
        }
    }
    if (request.atRest && !figures.appraisal.inside)
        figures.finished = prepared->cutter->finish(shaped_->design, placement, true).mesh;
}

void Workshop::tell(std::shared_ptr<const Figures> figures) {
    QMetaObject::invokeMethod(
        this,
        [this, figures = std::move(figures)] {
            if (figures->number <= lastTold_) return;
            lastTold_ = figures->number;
            Q_EMIT figuresReady(figures);
        },
        Qt::QueuedConnection);
}

}  // namespace macle::app
