// The layouts of the stone: their strip, and those that are added, renamed and removed.
#include <QAction>
#include <QInputDialog>
#include <algorithm>
#include <cmath>

#include "app/window/layouts_strip.h"
#include "app/window/main_window.h"
#include "app/window/sketch.h"
#include "core/cut/library.h"

namespace macle::app {

void MainWindow::makeLayouts() {
    connect(layoutsStrip_, &LayoutsStrip::chosen, this, &MainWindow::chooseLayout);
    connect(layoutsStrip_, &LayoutsStrip::copyAsked, copyLayout_, &QAction::trigger);
    connect(layoutsStrip_, &LayoutsStrip::renameAsked, renameLayout_, &QAction::trigger);
    connect(layoutsStrip_, &LayoutsStrip::removeAsked, removeLayout_, &QAction::trigger);
    connect(copyLayout_, &QAction::triggered, this,
            [this] { edit([&] { document_.addLayout(tr("Copy layout"), document_.layout()); }); });
    connect(newLayout_, &QAction::triggered, this, [this] {
        edit([&] {
            Layout fresh;
            fresh.name = "Layout 1";
            fresh.stones = {document_.planned()};
            fresh.main().piece = 0;
            document_.addLayout(tr("New layout"), std::move(fresh));
        });
    });
    connect(renameLayout_, &QAction::triggered, this, &MainWindow::askLayoutName);
    connect(removeLayout_, &QAction::triggered, this,
            [this] { edit([&] { document_.removeLayout(document_.currentLayout()); }); });
    connect(layoutsStrip_, &LayoutsStrip::sideBySideAsked, sideBySide_, &QAction::trigger);
    connect(sideBySide_, &QAction::triggered, this, [this] { compareLayouts(false); });
    connect(chart_, &QAction::triggered, this, [this] { compareLayouts(true); });
    connect(findLayouts_, &QAction::triggered, this, &MainWindow::askFindLayouts);
    connect(&layoutWeights_, &LayoutWeights::weighed, this, &MainWindow::displayLayouts);
    for (const auto signal : {&Document::layoutsChanged, &Document::layoutChanged,
                              &Document::approved, &Document::stoneChanged, &Document::opened})
        connect(&document_, signal, this, &MainWindow::displayLayouts);
}

void MainWindow::chooseLayout(int index) {
    if (job_ || !document_.isOpen()) return;
    document_.chooseLayout(index);
}

void MainWindow::askLayoutName() {
    bool given = false;
    const QString name =
        QInputDialog::getText(this, tr("Rename the layout"), tr("Name"), QLineEdit::Normal,
                              QString::fromStdString(document_.layout().name), &given);
    if (!given) return;
    try {
        document_.renameLayout(document_.currentLayout(), name.trimmed().toStdString());
    } catch (const Error& error) {
        showError(error);
    }
}

// The pictures are drawn anew only where a layout, the stone or the theme is another one.
void MainWindow::displayLayouts() {
    if (handling_) return;  // drawn when the drag ends
    const bool some = document_.isOpen() && document_.layouts().size() > 1;
    layoutsStrip_->setVisible(some);
    if (!some) {
        layoutSketches_.clear();
        layoutGround_.reset();
        return;
    }
    const auto prepared = workshop_.prepared();
    if (prepared && prepared->of == document_.stone()) {
        const auto& all = document_.layouts();
        const bool known = std::all_of(all.begin(), all.end(), [this](const Layout& layout) {
            return layoutWeights_.find(layout) != nullptr;
        });
        if (!known && !layoutWeights_.busy() && !handling_) layoutWeights_.weigh(prepared, all);
    }
    std::vector<LayoutSketch> before = std::move(layoutSketches_);
    layoutSketches_.clear();
    const LayoutGround ground{document_.stone(), resolved(themeChoice_), devicePixelRatioF(), {}};
    if (!layoutGround_ || layoutGround_->stone != ground.stone ||
        layoutGround_->theme != ground.theme || layoutGround_->ratio != ground.ratio)
        layoutGround_ = ground;
    std::vector<LayoutsStrip::Entry> entries;
    for (const Layout& layout : document_.layouts()) {
        LayoutSketch one{document_.stone(), layout, resolved(themeChoice_), {}};
        const auto same =
            std::find_if(before.begin(), before.end(), [&](const LayoutSketch& earlier) {
                return earlier.stone == one.stone && earlier.theme == one.theme &&
                       earlier.layout.stones == layout.stones;
            });
        if (same != before.end())
            one.picture = same->picture;
        else
            one.picture = drawLayout(layout);
        layoutSketches_.push_back(one);
        LayoutsStrip::Entry entry;
        entry.picture = one.picture;
        entry.name = QString::fromStdString(layout.name);
        entry.state = QString::fromLatin1(layoutStateName(document_.approvalBook().state(layout)));
        const LayoutWeights::Weighed* weighed = layoutWeights_.find(layout);
        if (weighed == nullptr)
            entry.weight = tr("being weighed");
        else if (!weighed->whole)
            entry.weight = tr("no weight");
        else
            entry.weight =
                tr("%1\u00a0ct, %2")
                    .arg(locale().toString(weighed->whole->finished_ct, 'f', 2),
                         layout.stones.size() == 1 ? tr("1 stone")
                                                   : tr("%1 stones").arg(layout.stones.size()));
        entries.push_back(std::move(entry));
    }
    layoutsStrip_->display(entries, document_.currentLayout());
    layoutsStrip_->setChangeable(job_.isNull());
}

QImage MainWindow::drawLayout(const Layout& layout) {
    std::optional<Sketch>& sketch = layoutGround_->sketch;
    const double ratio = layoutGround_->ratio;
    const auto pixels = [ratio](int length) {
        return static_cast<int>(std::lround(ratio * length));
    };
    if (!sketch)
        sketch.emplace(document_.stone()->rough.mesh, pixels(LayoutsStrip::kPictureWidth),
                       pixels(LayoutsStrip::kPictureHeight), ratio, sketchColours());
    std::vector<Sketch::Stone> stones;
    for (const PlannedStone& planned : layout.stones) {
        Sketch::Stone stone;
        stone.placement = planned.placement;
        for (const ConvexPart& part : designOf(planned).parts)
            stone.solids.push_back(makeSolid(part));
        stones.push_back(std::move(stone));
    }
    return sketch->draw(stones);
}

}  // namespace macle::app
