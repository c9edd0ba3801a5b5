// Workshop: keeps the prepared stone (obstacles, cutter) and appraises the latest state on a
// background thread. Requests are coalesced: while one is computed, only the newest waits. No
// figure is computed anywhere else in the window.
// Thread contract: use from the GUI thread; signals arrive there.
#pragma once

#include <QObject>
#include <condition_variable>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "core/appraise/whole_layout.h"
#include "core/archive/stone_file.h"
#include "core/divide/divided_stone.h"
#include "core/fit/explain.h"
#include "core/fit/search.h"

namespace macle::app {

class Document;

// Everything about one version of a stone that is made once, and where it is sawn about the piece
// that is worked on. Immutable; share freely.
struct Prepared {
    std::shared_ptr<const Stone> of;  // the whole stone
    int roughNumber = 0;
    std::vector<Saw> saws;
    int piece = 0;
    std::shared_ptr<const Stone> stone;         // that piece as a stone; `of` when nothing is sawn
    std::shared_ptr<const RoughCutter> cutter;  // of the piece
    std::shared_ptr<const Obstacles> obstacles;

    // Kept for the next version.
    std::shared_ptr<const Stone> wholeStone;  // what the whole's cutter was made from
    std::shared_ptr<const RoughCutter> wholeCutter;
    std::shared_ptr<const DividedStone> divided;

    bool about(const Document& document) const;
};

// The stone divided; a whole rough is its only piece. Throws what divideStone throws.
std::shared_ptr<const DividedStone> dividedFor(const std::shared_ptr<const Stone>& stone,
                                               const std::shared_ptr<const RoughCutter>& cutter,
                                               const std::vector<Saw>& saws, Progress* progress);

// `earlier` lends what it has of the same rough and saws. Throws Error{Cancelled}, what divide
// throws, and Error{BadUsage} for a piece that is not there.
std::shared_ptr<const Prepared> prepare(const std::shared_ptr<const Stone>& stone, int roughNumber,
                                        const std::vector<Saw>& saws, int piece,
                                        const std::shared_ptr<const Prepared>& earlier,
                                        Progress* progress);

// A cut and its solid, remade only when the proportions change.
struct Shaped {
    std::string cut;
    std::map<std::string, double> proportions;
    std::vector<FacetEdit> edits;
    std::vector<std::string> cutFiles;  // of a works' own cut, which a stone may bring anew
    Design design;
    std::vector<ConvexSolid> solids;  // size 1, one per part
};

struct Figures {
    long long number = 0;  // of the request
    std::shared_ptr<const Shaped> shaped;
    int stone = 0;  // of the layout, which the figures are of
    Placement placement;
    Appraisal appraisal;                       // of the stone in its piece
    std::shared_ptr<const WholeLayout> whole;  // all stones; null while one is moved
    std::string wholeTrouble;                  // why there are no figures of the whole
    GaugeAnswer largest;                       // at this pose
    std::vector<FitLimit> limits;              // nearest first
    std::vector<FitHold> holds;  // what each limit holds; only at rest and at the largest size
    TriangleMesh finished;       // only when asked for and the cut pokes out
    std::string trouble;         // why there are no figures; empty when there are
    std::string remedy;
};

class Workshop : public QObject {
    Q_OBJECT
  public:
    explicit Workshop(QObject* parent = nullptr);
    ~Workshop() override;

    // Uses what an opening job has prepared already.
    void adopt(std::shared_ptr<const Prepared> prepared);
    // The latest prepared stone, or null while it is being made.
    std::shared_ptr<const Prepared> prepared() const;
    void forget();  // no stone is open

    // Returns the number of the request. `atRest`: also make the mesh of a cut that pokes out.
    // The figures of one stone of the layout.
    long long request(std::shared_ptr<const Stone> stone, int roughNumber, const Layout& layout,
                      int which, bool atRest);
    // True while a newer request than the last figures is under way.
    bool busy() const { return lastAsked_ != lastTold_; }

  Q_SIGNALS:
    void preparing(double fraction);
    void preparedChanged();
    void figuresReady(std::shared_ptr<const macle::app::Figures> figures);

  private:
    struct Request {
        long long number = 0;
        std::shared_ptr<const Stone> stone;
        int roughNumber = 0;
        Layout layout;
        int which = 0;
        bool atRest = false;
        bool samePiece(const Request& other) const {
            return stone == other.stone && layout.saws == other.layout.saws &&
                   planned().piece == other.planned().piece;
        }
        const PlannedStone& planned() const {
            return layout.stones.at(static_cast<std::size_t>(which));
        }
    };
    void run();
    std::shared_ptr<const Prepared> preparedFor(const Request& request);
    void compute(const Request& request, Figures& figures);
    void tell(std::shared_ptr<const Figures> figures);

    mutable std::mutex mutex_;
    std::condition_variable wake_;
    std::optional<Request> waiting_;
    std::shared_ptr<const Prepared> prepared_;
    std::shared_ptr<Progress> preparation_;
    std::optional<Request> preparing_;  // what `preparation_` is about
    bool ending_ = false;

    std::shared_ptr<const Shaped> shaped_;  // worker only
    long long lastAsked_ = 0;               // GUI only
    long long lastTold_ = 0;                // GUI only
    std::thread thread_;
};

}  // namespace macle::app
