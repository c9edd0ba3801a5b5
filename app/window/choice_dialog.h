// ChoiceDialog: results of a search as a table, one of which may be taken over.
// Thread contract: GUI thread.
#pragma once

#include <QDialog>
#include <functional>
#include <vector>

namespace macle::app {

struct ChoiceTable {
    QString title;
    QString head;     // what the rows are
    QString caution;  // below them; may be empty
    QStringList columns;
    std::vector<QStringList> rows;  // the last column is words, the others figures
    bool several = false;           // more than one may be taken over
};

// Shows the table beside the window until it is closed. `take` gets the row that was taken over.
void showChoices(const ChoiceTable& table, const std::function<void(int)>& take, QWidget* parent);

}  // namespace macle::app
