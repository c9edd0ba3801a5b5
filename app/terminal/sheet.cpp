// macle sheet STONE: the plan sheet as a PDF, and as data (CSV, JSON).
#include <QGuiApplication>
#include <algorithm>
#include <iostream>
#include <memory>

#include "app/print/plan_sheet_pdf.h"
#include "app/print/sheet_state.h"
#include "app/terminal/appraise_inputs.h"
#include "app/terminal/fit.h"
#include "app/terminal/inputs.h"
#include "app/terminal/output.h"
#include "app/terminal/verbs.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/text_file.h"
#include "core/bench/plan_sheet.h"
#include "core/bench/sheet_data.h"
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

constexpr double kWidestTolerance_deg = 5.0;
constexpr double kWidestTolerance_mm = 1.0;

// Each file with what it is to hold, by its ending.
std::vector<std::pair<std::string, std::string>> wantedFiles(const Arguments& arguments) {
    std::vector<std::pair<std::string, std::string>> files;
    const auto add = [&](const char* option, const std::vector<std::string>& endings) {
        const auto file = arguments.text(option);
        if (!file) return;
        const std::string ending = std::filesystem::path(*file).extension().string();
        if (std::find(endings.begin(), endings.end(), ending) == endings.end())
            throw Error(ErrorCode::BadUsage,
                        "`--" + std::string(option) + " " + *file + "` has an ending of no use.",
                        "Give a file that ends with " + endings.front() +
                            (endings.size() > 1 ? ", .csv or .json." : "."));
        files.emplace_back(*file, ending);
    };
    add("out", {".pdf", ".csv", ".json"});
    add("csv", {".csv"});
    add("json-file", {".json"});
    if (files.empty())
        throw Error(ErrorCode::BadUsage, "`macle sheet` needs a file to write.",
                    "Add --out FILE.pdf (or .csv, .json).");
    return files;
}

void sheet(const Arguments& arguments, Console& console) {
    const std::string& input = arguments.soleInput("a stone");
    const auto files = wantedFiles(arguments);
    SheetRequest request;
    request.tolerances.angle_deg = arguments.number("tolerance-angle", 0.0, kWidestTolerance_deg)
                                       .value_or(request.tolerances.angle_deg);
    request.tolerances.length_mm = arguments.number("tolerance-length", 0.0, kWidestTolerance_mm)
                                       .value_or(request.tolerances.length_mm);
    request.date = arguments.text("date").value_or("");
    const ValueInputs value = valueInputs(arguments);
    const ShopRates rates = shopRates(arguments);
    if (arguments.has("appraised")) {
        request.inputs.emplace();
        request.inputs->scale = &value.scale;
        request.inputs->prices = value.prices ? &*value.prices : nullptr;
        request.inputs->rates = &rates;
        request.inputs->colour = value.colour;
        request.inputs->rounding = value.rounding;
    }
    StoneFile file = openStoneArgument(arguments, input, console);
    std::optional<Layout> layout = chosenWholeLayout(arguments, file);
    if (!layout) {
        layout = layoutWithoutPlacement(arguments);
        const FitOutcome outcome = runFit(arguments, file.stone, *layout, console);
        if (outcome.stopped)
            throw Error(ErrorCode::Cancelled, "The search was stopped; no sheet was written.",
                        "Run `macle fit` with --out to keep the best placement so far.");
    }
    request.state = sheetState(file.stone, *layout, file.approvals);
    if (const auto name = arguments.text("name")) layout->name = *name;

    Progress& progress = console.phase("Writing the sheet");
    const RoughCutter cutter(file.stone.rough);
    const PlanSheet content = makePlanSheet(file.stone, cutter, *layout, request, &progress);
    const OffscreenQt qt;
    std::string written;
    for (const auto& [path, ending] : files) {
        if (ending == ".pdf")
            writePlanSheetPdf(content, path);
        else
            writeTextFile(path, "sheet",
                          ending == ".csv" ? planSheetCsv(content) : planSheetJson(content));
        written += (written.empty() ? "" : ", ") + path;
    }

    if (arguments.json()) {
        Json object;
        object["file"] = files.front().first;
        object["state"] = content.state.state;
        object["hash"] = content.hash;
        addWeightBasis(object, file.stone);
        object["cut"] = layout->main().cut;
        object["size_mm"] = finite(layout->main().placement.size_mm);
        object["weight_ct"] = finite(content.finished_ct);
        object["recovery_percent"] = finite(content.recovery_percent);
        object["loss_ct"] = finite(content.loss_ct());
        printJson(object);
        return;
    }
    std::string cuts;
    for (const SheetStone& stone : content.stones)
        cuts += (cuts.empty() ? "" : "; ") + stone.cutTitle + ", " +
                lengthText(stone.placement.size_mm);
    print(fields({{"Written", written},
                  {"Layout", content.layoutName + " (" + content.state.state + ")"},
                  {"Cut", cuts},
                  {"Weight", caratText(content.finished_ct)},
                  {"Recovery", formatFixed(content.recovery_percent, 2) + " %"},
                  {"Identity", content.hash}}));
}

}  // namespace

Verb sheetVerb() {
    std::vector<OptionSpec> options = {
        {"out", "FILE", "where to: .pdf, .csv or .json"},
        {"csv", "FILE.csv", "the figures also as a table"},
        {"json-file", "FILE.json", "the figures also as one object"},
        {"appraised", "", "also value, time, light and what the tolerances are worth"},
        {"rates", "FILE", "shop rates for the times, JSON (or $MACLE_RATES; else defaults)"},
        {"tolerance-angle", "DEG", "more or less, of angles on the finished stone (0.2)"},
        {"tolerance-length", "MM", "more or less, of lengths (0.02)"},
        {"name", "TEXT", "name of the layout on the sheet"},
        {"date", "YYYY-MM-DD", "date on the sheet (default: today)"}};
    for (const auto& more : {layoutOptions(), valueOptions(), searchOptions()})
        options.insert(options.end(), more.begin(), more.end());
    return {"sheet",
            "STONE",
            "Write the plan sheet (PDF, CSV, JSON); searches first when no placement is given.",
            "macle sheet stone.macle --placement layout.json --out plan.pdf",
            options,
            sheet};
}

}  // namespace macle::app
