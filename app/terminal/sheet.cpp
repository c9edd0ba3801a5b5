// macle sheet STONE: the plan sheet as a PDF.
#include <QGuiApplication>
#include <iostream>
#include <memory>

#include "app/print/plan_sheet_pdf.h"
#include "app/print/sheet_state.h"
#include "app/terminal/fit.h"
#include "app/terminal/inputs.h"
#include "app/terminal/output.h"
#include "app/terminal/verbs.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/bench/plan_sheet.h"
#include "core/cut/library.h"

namespace macle::app {

namespace {

// Fonts need a Qt application, but no display.
class OffscreenQt {
  public:
    OffscreenQt() {
        if (QCoreApplication::instance() != nullptr) return;
        // Qt remarks on missing desktop settings; on the command line they say nothing of use.
        qInstallMessageHandler([](QtMsgType type, const QMessageLogContext&, const QString& text) {
            if (type == QtCriticalMsg || type == QtFatalMsg)
                std::cerr << "macle: " << text.toStdString() << std::endl;
        });
        qputenv("QT_QPA_PLATFORM", "offscreen");
        application_ = std::make_unique<QGuiApplication>(count_, words_);
    }

  private:
    // Qt keeps references to both for as long as the application lives.
    char name_[6] = "macle";
    char* words_[2] = {name_, nullptr};
    int count_ = 1;
    std::unique_ptr<QGuiApplication> application_;
};

void sheet(const Arguments& arguments, Console& console) {
    const std::string& input = arguments.soleInput("a stone");
    const auto out = arguments.text("out");
    if (!out || std::filesystem::path(*out).extension() != ".pdf")
        throw Error(ErrorCode::BadUsage, "`macle sheet` needs a file to write.",
                    "Add --out FILE.pdf.");
    StoneFile file = openStoneArgument(arguments, input, console);
    SheetRequest request;
    std::optional<Layout> layout = chosenLayout(arguments, file);
    if (layout) {
        request.limits = limitsOf(file.stone, *layout, console);
    } else {
        layout = layoutWithoutPlacement(arguments);
        const FitOutcome outcome = runFit(arguments, file.stone, *layout, console);
        if (outcome.stopped)
            throw Error(ErrorCode::Cancelled, "The search was stopped; no sheet was written.",
                        "Run `macle fit` with --out to keep the best placement so far.");
        request.limits = outcome.result.limits;
    }
    request.state = sheetState(file.stone, *layout, file.approvals);
    if (const auto name = arguments.text("name")) layout->name = *name;
    request.layoutName = layout->name;
    request.date = arguments.text("date").value_or("");
    request.allowance_mm = layout->main().rules.allowance_mm;

    console.phase("Writing the sheet");
    const RoughCutter cutter(file.stone.rough);
    const PlanSheet content = makePlanSheet(file.stone, cutter, designOf(layout->main()),
                                            layout->main().placement, request);
    const OffscreenQt qt;
    writePlanSheetPdf(content, *out);

    if (arguments.json()) {
        Json object;
        object["file"] = *out;
        object["state"] = content.state.state;
        object["hash"] = content.hash;
        addWeightBasis(object, file.stone);
        object["cut"] = layout->main().cut;
        object["size_mm"] = finite(layout->main().placement.size_mm);
        object["weight_ct"] = finite(content.appraisal.finished_ct);
        object["recovery_percent"] = finite(content.appraisal.recovery_percent);
        object["loss_ct"] = finite(content.appraisal.loss_ct);
        printJson(object);
        return;
    }
    print(fields({{"Written", *out},
                  {"Layout", content.layoutName + " (" + content.state.state + ")"},
                  {"Cut", content.cutTitle + ", " + lengthText(layout->main().placement.size_mm)},
                  {"Weight", caratText(content.appraisal.finished_ct)},
                  {"Recovery", formatFixed(content.appraisal.recovery_percent, 2) + " %"},
                  {"Identity", content.hash}}));
}

}  // namespace

Verb sheetVerb() {
    std::vector<OptionSpec> options = {
        {"out", "FILE.pdf", "where to"},
        {"name", "TEXT", "name of the layout on the sheet"},
        {"date", "YYYY-MM-DD", "date on the sheet (default: today)"}};
    for (const auto& more : {layoutOptions(), searchOptions()})
        options.insert(options.end(), more.begin(), more.end());
    return {"sheet",
            "STONE",
            "Write the plan sheet as a PDF; searches first when no placement is given.",
            "macle sheet stone.macle --placement layout.json --out plan.pdf",
            options,
            sheet};
}

}  // namespace macle::app
